DROP TABLE builds;
DROP TABLE heads;
