-- What is known of a supplier beyond the place that its deliveries come from.
CREATE TABLE suppliers (
    place_id text COLLATE "C" NOT NULL PRIMARY KEY REFERENCES places (id),
    body text COLLATE "C" NOT NULL
);

CREATE TABLE orders (
    number bigserial NOT NULL PRIMARY KEY,
    id text COLLATE "C" NOT NULL CONSTRAINT orders_id UNIQUE,
    supplier_id text COLLATE "C" NOT NULL REFERENCES places (id),
    state text COLLATE "C" NOT NULL,
    expected_on text COLLATE "C",
    reference text COLLATE "C",
    note text COLLATE "C",
    sent_at bigint,
    closed_at bigint,
    version bigint NOT NULL,
    created_at bigint NOT NULL,
    updated_at bigint NOT NULL
);

CREATE INDEX orders_supplier ON orders (supplier_id, id);
CREATE INDEX orders_state ON orders (state, id);

-- Received is a copy of what the receipts of a line brought in, less what was put right since.
CREATE TABLE order_lines (
    id text COLLATE "C" NOT NULL PRIMARY KEY,
    order_id text COLLATE "C" NOT NULL REFERENCES orders (id),
    position bigint NOT NULL,
    plug_id text COLLATE "C" NOT NULL REFERENCES plugs (id),
    quantity bigint NOT NULL CHECK (quantity > 0),
    cost_minor bigint,
    cost_currency text COLLATE "C",
    pack_size bigint,
    received bigint NOT NULL CHECK (received >= 0),
    CHECK ((cost_minor IS NULL) = (cost_currency IS NULL))
);

CREATE INDEX order_lines_order ON order_lines (order_id, position);
CREATE INDEX order_lines_plug ON order_lines (plug_id);

-- The line that a lot came in for; null where nobody had ordered it, and for descended lots.
ALTER TABLE lots ADD COLUMN order_line_id text COLLATE "C" REFERENCES order_lines (id);
CREATE INDEX lots_order_line ON lots (order_line_id) WHERE order_line_id IS NOT NULL;
