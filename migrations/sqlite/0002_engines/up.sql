CREATE TABLE heads (
    id TEXT NOT NULL PRIMARY KEY,
    name TEXT,
    body TEXT NOT NULL,
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE builds (
    id TEXT NOT NULL PRIMARY KEY,
    name TEXT,
    head_id TEXT REFERENCES heads (id),
    base_plug_id TEXT REFERENCES plugs (id),
    body TEXT NOT NULL,
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE INDEX builds_head ON builds (head_id) WHERE head_id IS NOT NULL;
CREATE INDEX builds_base_plug ON builds (base_plug_id) WHERE base_plug_id IS NOT NULL;
