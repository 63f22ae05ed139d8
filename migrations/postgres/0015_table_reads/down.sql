DROP INDEX barcodes_spelled;
DROP TABLE table_reads;
