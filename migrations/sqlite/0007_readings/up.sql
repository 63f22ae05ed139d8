-- What was asked for and the plan as it was made lie in the body; the columns are what is searched
-- for, and what keeps the records that they name.
CREATE TABLE tuning_days (
    id TEXT NOT NULL PRIMARY KEY,
    build_id TEXT REFERENCES builds (id),
    plug_id TEXT REFERENCES plugs (id),
    reservation_id TEXT REFERENCES reservations (id),
    day TEXT NOT NULL,
    body TEXT NOT NULL,
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE INDEX tuning_days_build ON tuning_days (build_id) WHERE build_id IS NOT NULL;
CREATE INDEX tuning_days_plug ON tuning_days (plug_id) WHERE plug_id IS NOT NULL;
CREATE INDEX tuning_days_day ON tuning_days (day);

CREATE TABLE readings (
    id TEXT NOT NULL PRIMARY KEY,
    build_id TEXT NOT NULL REFERENCES builds (id),
    plug_id TEXT REFERENCES plugs (id),
    movement_id TEXT REFERENCES movements (id),
    tuning_day_id TEXT REFERENCES tuning_days (id),
    evidence INTEGER NOT NULL,
    body TEXT NOT NULL,
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE INDEX readings_build ON readings (build_id, id);
CREATE INDEX readings_movement ON readings (movement_id) WHERE movement_id IS NOT NULL;
CREATE INDEX readings_day ON readings (tuning_day_id, id) WHERE tuning_day_id IS NOT NULL;
