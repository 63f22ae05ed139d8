-- What a list of movements is narrowed by besides part, lot, place, kind and job.
CREATE INDEX movements_actor ON movements (actor, sequence);
-- A stretch of time: running numbers follow it closely, but not to the letter.
CREATE INDEX movements_created ON movements (created_at, sequence);
