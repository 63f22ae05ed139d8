-- What went out on a reservation is known after it was given back, too.
ALTER TABLE reservations ADD COLUMN issued_quantity bigint NOT NULL DEFAULT 0;
UPDATE reservations SET issued_quantity = quantity - open_quantity WHERE state IN ('open', 'short', 'issued');
ALTER TABLE reservations ADD COLUMN build_id text COLLATE "C" REFERENCES builds (id);
CREATE INDEX reservations_build ON reservations (build_id) WHERE build_id IS NOT NULL;
-- Those whose time can run out, by when it does.
CREATE INDEX reservations_due ON reservations (expires_at) WHERE state IN ('open', 'short') AND expires_at IS NOT NULL;

-- What went into which engine, and when.
CREATE INDEX movements_build ON movements (build_id, sequence) WHERE build_id IS NOT NULL;
CREATE INDEX movements_for_builds ON movements (sequence) WHERE build_id IS NOT NULL;
