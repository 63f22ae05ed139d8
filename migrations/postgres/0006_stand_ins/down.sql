DROP TABLE stand_ins;
