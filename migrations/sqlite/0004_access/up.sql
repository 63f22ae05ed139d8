CREATE TABLE tokens (
    id TEXT NOT NULL PRIMARY KEY,
    name TEXT NOT NULL,
    role TEXT NOT NULL,
    hash TEXT NOT NULL,
    created_at INTEGER NOT NULL,
    revoked_at INTEGER
) STRICT, WITHOUT ROWID;

CREATE UNIQUE INDEX tokens_hash ON tokens (hash);

-- First answers to once-only keys, kept beside their effect.
CREATE TABLE once (
    token_id TEXT NOT NULL,
    key TEXT NOT NULL,
    fingerprint TEXT NOT NULL,
    status INTEGER NOT NULL,
    headers TEXT NOT NULL,
    body BLOB NOT NULL,
    created_at INTEGER NOT NULL
) STRICT;

CREATE UNIQUE INDEX once_key ON once (token_id, key);
CREATE INDEX once_created ON once (created_at);

CREATE TABLE policies (
    version INTEGER NOT NULL PRIMARY KEY,
    body TEXT NOT NULL,
    created_at INTEGER NOT NULL
) STRICT;
