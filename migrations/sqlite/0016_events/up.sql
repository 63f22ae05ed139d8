-- What happened, written with what it tells of, and never changed. There is one writer, so rows are
-- committed in the order of their places in the feed.
CREATE TABLE events (
    sequence INTEGER PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL,
    kind TEXT NOT NULL,
    subject TEXT NOT NULL,
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    data TEXT NOT NULL
) STRICT;

-- Parts whose stock has come to its reorder point or below, and was told of.
CREATE TABLE parts_low (
    plug_id TEXT NOT NULL PRIMARY KEY,
    told_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

-- Who is told of events by a request to a URL.
CREATE TABLE webhooks (
    id TEXT NOT NULL PRIMARY KEY,
    url TEXT NOT NULL,
    -- A JSON list of types; empty for all.
    kinds TEXT NOT NULL,
    description TEXT,
    enabled INTEGER NOT NULL,
    disabled_because TEXT,
    -- How far in the feed deliveries have been made out.
    reached INTEGER NOT NULL,
    made_by TEXT NOT NULL,
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

-- What deliveries are signed with; kept as they are, since they have to be used.
CREATE TABLE webhook_secrets (
    id TEXT NOT NULL PRIMARY KEY,
    webhook_id TEXT NOT NULL REFERENCES webhooks (id),
    secret TEXT NOT NULL,
    created_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE INDEX webhook_secrets_webhook ON webhook_secrets (webhook_id);

-- One event on its way to one URL.
CREATE TABLE deliveries (
    id TEXT NOT NULL PRIMARY KEY,
    webhook_id TEXT NOT NULL REFERENCES webhooks (id),
    sequence INTEGER NOT NULL,
    event_id TEXT NOT NULL,
    kind TEXT NOT NULL,
    subject TEXT NOT NULL,
    state TEXT NOT NULL,
    -- Attempts since it was made out or sent again: its place in the schedule.
    tries INTEGER NOT NULL,
    due_at INTEGER NOT NULL,
    -- Somebody is at it until then.
    leased_until INTEGER,
    created_at INTEGER NOT NULL,
    ended_at INTEGER
) STRICT, WITHOUT ROWID;

CREATE INDEX deliveries_webhook ON deliveries (webhook_id, id);
CREATE INDEX deliveries_sequence ON deliveries (sequence);
CREATE INDEX deliveries_due ON deliveries (due_at) WHERE state = 'waiting';
CREATE INDEX deliveries_order ON deliveries (webhook_id, subject, sequence) WHERE state = 'waiting';

-- What came of each attempt.
CREATE TABLE delivery_attempts (
    delivery_id TEXT NOT NULL,
    number INTEGER NOT NULL,
    at INTEGER NOT NULL,
    status INTEGER,
    failure TEXT,
    took_ms INTEGER NOT NULL,
    next_at INTEGER,
    PRIMARY KEY (delivery_id, number)
) STRICT, WITHOUT ROWID;
