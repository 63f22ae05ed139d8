ALTER TABLE heat_scales DROP COLUMN calibrated_at;
