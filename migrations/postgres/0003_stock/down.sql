DROP TABLE reservations;
DROP TABLE movements;
DROP TABLE levels;
DROP TABLE lots;
DROP TABLE places;
