DROP TABLE policies;
DROP TABLE once;
DROP TABLE tokens;
