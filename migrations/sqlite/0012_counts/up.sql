-- The running number of the last movement that a level holds: what a count was held against can be
-- summed up anew from the movements.
ALTER TABLE levels ADD COLUMN version INTEGER NOT NULL DEFAULT 0;

UPDATE levels SET version = (
    -- By the lot alone: of a lot there are few movements, of a place there may be all.
    SELECT COALESCE(MAX(CASE WHEN levels.place_id IN (m.from_place_id, m.to_place_id) THEN m.sequence END), 0)
    FROM movements m WHERE m.lot_id = levels.lot_id
);

CREATE TABLE counts (
    id TEXT NOT NULL PRIMARY KEY,
    state TEXT NOT NULL,
    made_by TEXT NOT NULL,
    approved_by TEXT,
    approved_at INTEGER,
    reason TEXT,
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE INDEX counts_state ON counts (state, id);
CREATE INDEX counts_approved ON counts (approved_at) WHERE approved_at IS NOT NULL;

-- What an approved count knows of a bin: when it was counted, and the last movement of the shop until then.
CREATE TABLE count_places (
    count_id TEXT NOT NULL REFERENCES counts (id),
    place_id TEXT NOT NULL REFERENCES places (id),
    open INTEGER NOT NULL,
    counted_at INTEGER,
    up_to INTEGER,
    PRIMARY KEY (count_id, place_id)
) STRICT, WITHOUT ROWID;

-- A bin is counted by one count at a time.
CREATE UNIQUE INDEX count_places_open ON count_places (place_id) WHERE open = 1;
CREATE INDEX count_places_place ON count_places (place_id, count_id);

-- The last counting of each line stands in columns, those before it in `earlier`.
CREATE TABLE count_lines (
    count_id TEXT NOT NULL REFERENCES counts (id),
    place_id TEXT NOT NULL REFERENCES places (id),
    lot_id TEXT NOT NULL REFERENCES lots (id),
    plug_id TEXT NOT NULL REFERENCES plugs (id),
    on_sheet INTEGER NOT NULL,
    counted INTEGER CHECK (counted >= 0),
    expected INTEGER,
    level_version INTEGER,
    counted_by TEXT,
    counted_at INTEGER,
    recount INTEGER NOT NULL,
    cost_minor INTEGER,
    cost_currency TEXT,
    earlier TEXT NOT NULL,
    movement_id TEXT REFERENCES movements (id),
    PRIMARY KEY (count_id, place_id, lot_id),
    CHECK ((counted IS NULL) = (expected IS NULL)),
    CHECK ((cost_minor IS NULL) = (cost_currency IS NULL))
) STRICT, WITHOUT ROWID;

CREATE INDEX count_lines_place ON count_lines (place_id);
CREATE INDEX count_lines_lot ON count_lines (lot_id);
CREATE INDEX count_lines_plug ON count_lines (plug_id);
CREATE INDEX count_lines_movement ON count_lines (movement_id) WHERE movement_id IS NOT NULL;
