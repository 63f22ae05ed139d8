DROP INDEX movements_scrapped;
ALTER TABLE movements DROP COLUMN dropped_by;
