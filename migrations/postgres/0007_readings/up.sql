-- What was asked for and the plan as it was made lie in the body; the columns are what is searched
-- for, and what keeps the records that they name.
CREATE TABLE tuning_days (
    id text COLLATE "C" NOT NULL PRIMARY KEY,
    build_id text COLLATE "C" REFERENCES builds (id),
    plug_id text COLLATE "C" REFERENCES plugs (id),
    reservation_id text COLLATE "C" REFERENCES reservations (id),
    day text COLLATE "C" NOT NULL,
    body text COLLATE "C" NOT NULL,
    version bigint NOT NULL,
    created_at bigint NOT NULL,
    updated_at bigint NOT NULL
);

CREATE INDEX tuning_days_build ON tuning_days (build_id) WHERE build_id IS NOT NULL;
CREATE INDEX tuning_days_plug ON tuning_days (plug_id) WHERE plug_id IS NOT NULL;
CREATE INDEX tuning_days_day ON tuning_days (day);

CREATE TABLE readings (
    id text COLLATE "C" NOT NULL PRIMARY KEY,
    build_id text COLLATE "C" NOT NULL REFERENCES builds (id),
    plug_id text COLLATE "C" REFERENCES plugs (id),
    movement_id text COLLATE "C" REFERENCES movements (id),
    tuning_day_id text COLLATE "C" REFERENCES tuning_days (id),
    evidence bigint NOT NULL,
    body text COLLATE "C" NOT NULL,
    version bigint NOT NULL,
    created_at bigint NOT NULL,
    updated_at bigint NOT NULL
);

CREATE INDEX readings_build ON readings (build_id, id);
CREATE INDEX readings_movement ON readings (movement_id) WHERE movement_id IS NOT NULL;
CREATE INDEX readings_day ON readings (tuning_day_id, id) WHERE tuning_day_id IS NOT NULL;
