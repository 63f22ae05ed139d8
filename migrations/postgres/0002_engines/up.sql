CREATE TABLE heads (
    id text COLLATE "C" NOT NULL PRIMARY KEY,
    name text COLLATE "C",
    body text COLLATE "C" NOT NULL,
    version bigint NOT NULL,
    created_at bigint NOT NULL,
    updated_at bigint NOT NULL
);

CREATE TABLE builds (
    id text COLLATE "C" NOT NULL PRIMARY KEY,
    name text COLLATE "C",
    head_id text COLLATE "C" REFERENCES heads (id),
    base_plug_id text COLLATE "C" REFERENCES plugs (id),
    body text COLLATE "C" NOT NULL,
    version bigint NOT NULL,
    created_at bigint NOT NULL,
    updated_at bigint NOT NULL
);

CREATE INDEX builds_head ON builds (head_id) WHERE head_id IS NOT NULL;
CREATE INDEX builds_base_plug ON builds (base_plug_id) WHERE base_plug_id IS NOT NULL;
