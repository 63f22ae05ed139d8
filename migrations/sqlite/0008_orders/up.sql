-- What is known of a supplier beyond the place that its deliveries come from.
CREATE TABLE suppliers (
    place_id TEXT NOT NULL PRIMARY KEY REFERENCES places (id),
    body TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE orders (
    number INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL,
    supplier_id TEXT NOT NULL REFERENCES places (id),
    state TEXT NOT NULL,
    expected_on TEXT,
    reference TEXT,
    note TEXT,
    sent_at INTEGER,
    closed_at INTEGER,
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL
) STRICT;

CREATE UNIQUE INDEX orders_id ON orders (id);
CREATE INDEX orders_supplier ON orders (supplier_id, id);
CREATE INDEX orders_state ON orders (state, id);

-- Received is a copy of what the receipts of a line brought in, less what was put right since.
CREATE TABLE order_lines (
    id TEXT NOT NULL PRIMARY KEY,
    order_id TEXT NOT NULL REFERENCES orders (id),
    position INTEGER NOT NULL,
    plug_id TEXT NOT NULL REFERENCES plugs (id),
    quantity INTEGER NOT NULL CHECK (quantity > 0),
    cost_minor INTEGER,
    cost_currency TEXT,
    pack_size INTEGER,
    received INTEGER NOT NULL CHECK (received >= 0),
    CHECK ((cost_minor IS NULL) = (cost_currency IS NULL))
) STRICT, WITHOUT ROWID;

CREATE INDEX order_lines_order ON order_lines (order_id, position);
CREATE INDEX order_lines_plug ON order_lines (plug_id);

-- The line that a lot came in for; null where nobody had ordered it, and for descended lots.
ALTER TABLE lots ADD COLUMN order_line_id TEXT REFERENCES order_lines (id);
CREATE INDEX lots_order_line ON lots (order_line_id) WHERE order_line_id IS NOT NULL;
