-- What happened, written with what it tells of, and never changed but for its place in the feed. That
-- is given once the row is committed, in the order of the numbers: a number is drawn while the row of
-- what it tells of is locked, so that of one entity the order of the feed is that of its versions.
CREATE TABLE events (
    number bigserial NOT NULL PRIMARY KEY,
    sequence bigint,
    id text COLLATE "C" NOT NULL,
    kind text COLLATE "C" NOT NULL,
    subject text COLLATE "C" NOT NULL,
    version bigint NOT NULL,
    created_at bigint NOT NULL,
    data text COLLATE "C" NOT NULL
);

CREATE UNIQUE INDEX events_sequence ON events (sequence);
CREATE INDEX events_unplaced ON events (number) WHERE sequence IS NULL;

-- Parts whose stock has come to its reorder point or below, and was told of.
CREATE TABLE parts_low (
    plug_id text COLLATE "C" NOT NULL PRIMARY KEY,
    told_at bigint NOT NULL
);

-- Who is told of events by a request to a URL.
CREATE TABLE webhooks (
    id text COLLATE "C" NOT NULL PRIMARY KEY,
    url text COLLATE "C" NOT NULL,
    -- A JSON list of types; empty for all.
    kinds text COLLATE "C" NOT NULL,
    description text COLLATE "C",
    enabled bigint NOT NULL,
    disabled_because text COLLATE "C",
    -- How far in the feed deliveries have been made out.
    reached bigint NOT NULL,
    made_by text COLLATE "C" NOT NULL,
    version bigint NOT NULL,
    created_at bigint NOT NULL,
    updated_at bigint NOT NULL
);

-- What deliveries are signed with; kept as they are, since they have to be used.
CREATE TABLE webhook_secrets (
    id text COLLATE "C" NOT NULL PRIMARY KEY,
    webhook_id text COLLATE "C" NOT NULL REFERENCES webhooks (id),
    secret text COLLATE "C" NOT NULL,
    created_at bigint NOT NULL
);

CREATE INDEX webhook_secrets_webhook ON webhook_secrets (webhook_id);

-- One event on its way to one URL.
CREATE TABLE deliveries (
    id text COLLATE "C" NOT NULL PRIMARY KEY,
    webhook_id text COLLATE "C" NOT NULL REFERENCES webhooks (id),
    sequence bigint NOT NULL,
    event_id text COLLATE "C" NOT NULL,
    kind text COLLATE "C" NOT NULL,
    subject text COLLATE "C" NOT NULL,
    state text COLLATE "C" NOT NULL,
    -- Attempts since it was made out or sent again: its place in the schedule.
    tries bigint NOT NULL,
    due_at bigint NOT NULL,
    -- Somebody is at it until then.
    leased_until bigint,
    created_at bigint NOT NULL,
    ended_at bigint
);

CREATE INDEX deliveries_webhook ON deliveries (webhook_id, id);
CREATE INDEX deliveries_sequence ON deliveries (sequence);
CREATE INDEX deliveries_due ON deliveries (due_at) WHERE state = 'waiting';
CREATE INDEX deliveries_order ON deliveries (webhook_id, subject, sequence) WHERE state = 'waiting';

-- What came of each attempt.
CREATE TABLE delivery_attempts (
    delivery_id text COLLATE "C" NOT NULL,
    number bigint NOT NULL,
    at bigint NOT NULL,
    status bigint,
    failure text COLLATE "C",
    took_ms bigint NOT NULL,
    next_at bigint,
    PRIMARY KEY (delivery_id, number)
);
