-- Barcodes that the shop attached to parts. The key is what they are compared by: a GTIN of 14 digits,
-- or the text as it stands.
CREATE TABLE barcodes (
    id TEXT NOT NULL PRIMARY KEY,
    plug_id TEXT NOT NULL REFERENCES plugs (id),
    code TEXT NOT NULL,
    code_key TEXT NOT NULL,
    plugs INTEGER,
    recorded_by TEXT NOT NULL,
    created_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE UNIQUE INDEX barcodes_code ON barcodes (code_key);
CREATE INDEX barcodes_plug ON barcodes (plug_id, id);

-- What was measured and what came of it lie in the body; the columns are what is searched for, and what
-- keeps the records that they name.
CREATE TABLE incoming_checks (
    id TEXT NOT NULL PRIMARY KEY,
    lot_id TEXT NOT NULL REFERENCES lots (id),
    state TEXT NOT NULL,
    body TEXT NOT NULL,
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE INDEX incoming_checks_lot ON incoming_checks (lot_id, id);
CREATE INDEX incoming_checks_state ON incoming_checks (state, id);
