-- Barcodes that the shop attached to parts. The key is what they are compared by: a GTIN of 14 digits,
-- or the text as it stands.
CREATE TABLE barcodes (
    id text COLLATE "C" NOT NULL PRIMARY KEY,
    plug_id text COLLATE "C" NOT NULL REFERENCES plugs (id),
    code text COLLATE "C" NOT NULL,
    code_key text COLLATE "C" NOT NULL,
    plugs bigint,
    recorded_by text COLLATE "C" NOT NULL,
    created_at bigint NOT NULL
);

CREATE UNIQUE INDEX barcodes_code ON barcodes (code_key);
CREATE INDEX barcodes_plug ON barcodes (plug_id, id);

-- What was measured and what came of it lie in the body; the columns are what is searched for, and what
-- keeps the records that they name.
CREATE TABLE incoming_checks (
    id text COLLATE "C" NOT NULL PRIMARY KEY,
    lot_id text COLLATE "C" NOT NULL REFERENCES lots (id),
    state text COLLATE "C" NOT NULL,
    body text COLLATE "C" NOT NULL,
    version bigint NOT NULL,
    created_at bigint NOT NULL,
    updated_at bigint NOT NULL
);

CREATE INDEX incoming_checks_lot ON incoming_checks (lot_id, id);
CREATE INDEX incoming_checks_state ON incoming_checks (state, id);
