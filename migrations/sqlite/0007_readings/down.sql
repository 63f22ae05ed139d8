DROP TABLE readings;
DROP TABLE tuning_days;
