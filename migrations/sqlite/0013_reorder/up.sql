-- What a shop gives by hand for the reordering of a part; goes with the record.
CREATE TABLE reordering (
    plug_id TEXT NOT NULL PRIMARY KEY REFERENCES plugs (id) ON DELETE CASCADE,
    body TEXT NOT NULL,
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

-- What was taken of a part and when, read without the movements themselves: SQLite looks at the kind
-- even where the index says it.
CREATE INDEX movements_demand ON movements (plug_id, created_at, quantity, kind) WHERE kind = 'issue';
