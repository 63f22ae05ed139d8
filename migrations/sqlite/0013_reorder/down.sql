DROP INDEX movements_demand;
DROP TABLE reordering;
