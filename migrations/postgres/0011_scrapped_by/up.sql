-- Who dropped what was scrapped, where somebody said so.
ALTER TABLE movements ADD COLUMN dropped_by text COLLATE "C";
-- What was scrapped in a period.
CREATE INDEX movements_scrapped ON movements (created_at) WHERE kind = 'scrapping';
