CREATE TABLE tokens (
    id text COLLATE "C" NOT NULL PRIMARY KEY,
    name text COLLATE "C" NOT NULL,
    role text COLLATE "C" NOT NULL,
    hash text COLLATE "C" NOT NULL,
    created_at bigint NOT NULL,
    revoked_at bigint
);

CREATE UNIQUE INDEX tokens_hash ON tokens (hash);

-- First answers to once-only keys, kept beside their effect.
CREATE TABLE once (
    token_id text COLLATE "C" NOT NULL,
    key text COLLATE "C" NOT NULL,
    fingerprint text COLLATE "C" NOT NULL,
    status bigint NOT NULL,
    headers text COLLATE "C" NOT NULL,
    body bytea NOT NULL,
    created_at bigint NOT NULL
);

CREATE UNIQUE INDEX once_key ON once (token_id, key);
CREATE INDEX once_created ON once (created_at);

CREATE TABLE policies (
    version bigint NOT NULL PRIMARY KEY,
    body text COLLATE "C" NOT NULL,
    created_at bigint NOT NULL
);
