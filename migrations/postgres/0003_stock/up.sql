CREATE TABLE places (
    number bigserial NOT NULL PRIMARY KEY,
    id text COLLATE "C" NOT NULL CONSTRAINT places_id UNIQUE,
    kind text COLLATE "C" NOT NULL,
    name text COLLATE "C" NOT NULL,
    name_key text COLLATE "C" NOT NULL,
    retired bigint NOT NULL,
    version bigint NOT NULL,
    created_at bigint NOT NULL
);

CREATE UNIQUE INDEX places_name ON places (kind, name_key);
-- One scrap drum and one difference account.
CREATE UNIQUE INDEX places_single ON places (kind) WHERE kind IN ('scrap', 'difference');

CREATE TABLE lots (
    number bigserial NOT NULL PRIMARY KEY,
    id text COLLATE "C" NOT NULL CONSTRAINT lots_id UNIQUE,
    plug_id text COLLATE "C" NOT NULL REFERENCES plugs (id),
    supplier text COLLATE "C" NOT NULL,
    received_at bigint NOT NULL,
    quantity_received bigint NOT NULL CHECK (quantity_received > 0),
    cost_minor bigint,
    cost_currency text COLLATE "C",
    pack_size bigint,
    condition text COLLATE "C" NOT NULL,
    gap_mm bigint,
    from_lot_id text COLLATE "C" REFERENCES lots (id),
    CHECK ((cost_minor IS NULL) = (cost_currency IS NULL))
);

CREATE INDEX lots_plug ON lots (plug_id, id);
CREATE INDEX lots_from_lot ON lots (from_lot_id) WHERE from_lot_id IS NOT NULL;

-- The sum of the movements, no row where it is zero. Part and kind of place are copies: what a part
-- has lies together, and a shelf is one search.
CREATE TABLE levels (
    plug_id text COLLATE "C" NOT NULL,
    lot_id text COLLATE "C" NOT NULL REFERENCES lots (id),
    place_id text COLLATE "C" NOT NULL REFERENCES places (id),
    place_kind text COLLATE "C" NOT NULL,
    quantity bigint NOT NULL,
    PRIMARY KEY (plug_id, lot_id, place_id),
    CHECK (quantity >= 0 OR place_kind IN ('supplier', 'difference'))
) WITH (fillfactor = 80);

CREATE INDEX levels_kind ON levels (place_kind, plug_id, lot_id, place_id);
CREATE INDEX levels_place ON levels (place_id, plug_id, lot_id);

CREATE TABLE movements (
    sequence bigserial NOT NULL PRIMARY KEY,
    id text COLLATE "C" NOT NULL CONSTRAINT movements_id UNIQUE,
    kind text COLLATE "C" NOT NULL,
    lot_id text COLLATE "C" NOT NULL REFERENCES lots (id),
    plug_id text COLLATE "C" NOT NULL REFERENCES plugs (id),
    from_place_id text COLLATE "C" NOT NULL REFERENCES places (id),
    to_place_id text COLLATE "C" NOT NULL REFERENCES places (id),
    quantity bigint NOT NULL CHECK (quantity > 0),
    reason text COLLATE "C",
    note text COLLATE "C",
    job text COLLATE "C",
    job_key text COLLATE "C",
    actor text COLLATE "C" NOT NULL,
    reverses text COLLATE "C" REFERENCES movements (id),
    answers text COLLATE "C" REFERENCES movements (id),
    pair_id text COLLATE "C",
    build_id text COLLATE "C",
    odometer_km bigint,
    gap_mm bigint,
    created_at bigint NOT NULL,
    CHECK (from_place_id <> to_place_id)
);

CREATE INDEX movements_kind ON movements (kind, sequence);
CREATE INDEX movements_lot ON movements (lot_id, sequence);
CREATE INDEX movements_plug ON movements (plug_id, sequence);
CREATE INDEX movements_from ON movements (from_place_id, sequence);
CREATE INDEX movements_to ON movements (to_place_id, sequence);
CREATE INDEX movements_job ON movements (job_key, sequence) WHERE job_key IS NOT NULL;
-- A movement is put right once.
CREATE UNIQUE INDEX movements_reverses ON movements (reverses) WHERE reverses IS NOT NULL;
CREATE INDEX movements_answers ON movements (answers) WHERE answers IS NOT NULL;
CREATE INDEX movements_pair ON movements (pair_id) WHERE pair_id IS NOT NULL;

CREATE TABLE reservations (
    id text COLLATE "C" NOT NULL PRIMARY KEY,
    plug_id text COLLATE "C" NOT NULL REFERENCES plugs (id),
    job text COLLATE "C" NOT NULL,
    job_key text COLLATE "C" NOT NULL,
    quantity bigint NOT NULL CHECK (quantity > 0),
    open_quantity bigint NOT NULL,
    state text COLLATE "C" NOT NULL,
    expires_at bigint,
    version bigint NOT NULL,
    created_at bigint NOT NULL,
    CHECK (open_quantity BETWEEN 0 AND quantity)
);

CREATE INDEX reservations_plug ON reservations (plug_id);
CREATE INDEX reservations_waiting ON reservations (plug_id, created_at) WHERE state IN ('open', 'short');
CREATE INDEX reservations_job ON reservations (job_key);
CREATE INDEX reservations_state ON reservations (state);
