-- When a calibration put the codes where they are; null where somebody typed them in.
ALTER TABLE heat_scales ADD COLUMN calibrated_at INTEGER;
