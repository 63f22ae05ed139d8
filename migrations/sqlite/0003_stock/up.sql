CREATE TABLE places (
    number INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL,
    kind TEXT NOT NULL,
    name TEXT NOT NULL,
    name_key TEXT NOT NULL,
    retired INTEGER NOT NULL,
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL
) STRICT;

CREATE UNIQUE INDEX places_id ON places (id);
CREATE UNIQUE INDEX places_name ON places (kind, name_key);
-- One scrap drum and one difference account.
CREATE UNIQUE INDEX places_single ON places (kind) WHERE kind IN ('scrap', 'difference');

CREATE TABLE lots (
    number INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL,
    plug_id TEXT NOT NULL REFERENCES plugs (id),
    supplier TEXT NOT NULL,
    received_at INTEGER NOT NULL,
    quantity_received INTEGER NOT NULL CHECK (quantity_received > 0),
    cost_minor INTEGER,
    cost_currency TEXT,
    pack_size INTEGER,
    condition TEXT NOT NULL,
    gap_mm INTEGER,
    from_lot_id TEXT REFERENCES lots (id),
    CHECK ((cost_minor IS NULL) = (cost_currency IS NULL))
) STRICT;

CREATE UNIQUE INDEX lots_id ON lots (id);
CREATE INDEX lots_plug ON lots (plug_id, id);
CREATE INDEX lots_from_lot ON lots (from_lot_id) WHERE from_lot_id IS NOT NULL;

-- The sum of the movements, no row where it is zero. Part and kind of place are copies: what a part
-- has lies together, and a shelf is one search.
CREATE TABLE levels (
    plug_id TEXT NOT NULL,
    lot_id TEXT NOT NULL REFERENCES lots (id),
    place_id TEXT NOT NULL REFERENCES places (id),
    place_kind TEXT NOT NULL,
    quantity INTEGER NOT NULL,
    PRIMARY KEY (plug_id, lot_id, place_id),
    CHECK (quantity >= 0 OR place_kind IN ('supplier', 'difference'))
) STRICT, WITHOUT ROWID;

CREATE INDEX levels_kind ON levels (place_kind, plug_id, lot_id, place_id);
CREATE INDEX levels_place ON levels (place_id, plug_id, lot_id);

CREATE TABLE movements (
    sequence INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL,
    kind TEXT NOT NULL,
    lot_id TEXT NOT NULL REFERENCES lots (id),
    plug_id TEXT NOT NULL REFERENCES plugs (id),
    from_place_id TEXT NOT NULL REFERENCES places (id),
    to_place_id TEXT NOT NULL REFERENCES places (id),
    quantity INTEGER NOT NULL CHECK (quantity > 0),
    reason TEXT,
    note TEXT,
    job TEXT,
    job_key TEXT,
    actor TEXT NOT NULL,
    reverses TEXT REFERENCES movements (id),
    answers TEXT REFERENCES movements (id),
    pair_id TEXT,
    build_id TEXT,
    odometer_km INTEGER,
    gap_mm INTEGER,
    created_at INTEGER NOT NULL,
    CHECK (from_place_id <> to_place_id)
) STRICT;

CREATE UNIQUE INDEX movements_id ON movements (id);
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
    id TEXT NOT NULL PRIMARY KEY,
    plug_id TEXT NOT NULL REFERENCES plugs (id),
    job TEXT NOT NULL,
    job_key TEXT NOT NULL,
    quantity INTEGER NOT NULL CHECK (quantity > 0),
    open_quantity INTEGER NOT NULL,
    state TEXT NOT NULL,
    expires_at INTEGER,
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    CHECK (open_quantity BETWEEN 0 AND quantity)
) STRICT, WITHOUT ROWID;

CREATE INDEX reservations_plug ON reservations (plug_id);
CREATE INDEX reservations_waiting ON reservations (plug_id, created_at) WHERE state IN ('open', 'short');
CREATE INDEX reservations_job ON reservations (job_key);
CREATE INDEX reservations_state ON reservations (state);
