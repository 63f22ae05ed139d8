DROP INDEX movements_for_builds;
DROP INDEX movements_build;
DROP INDEX reservations_due;
DROP INDEX reservations_build;
ALTER TABLE reservations DROP COLUMN build_id;
ALTER TABLE reservations DROP COLUMN issued_quantity;
