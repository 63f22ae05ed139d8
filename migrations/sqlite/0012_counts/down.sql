DROP TABLE count_lines;
DROP TABLE count_places;
DROP TABLE counts;
ALTER TABLE levels DROP COLUMN version;
