DROP TABLE incoming_checks;
DROP TABLE barcodes;
