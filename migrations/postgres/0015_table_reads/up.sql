-- Which tables of stock were received already: what one booked, as a digest, by whom and when.
CREATE TABLE table_reads (
    id text COLLATE "C" NOT NULL PRIMARY KEY,
    digest text COLLATE "C" NOT NULL,
    row_count bigint NOT NULL,
    read_by text COLLATE "C" NOT NULL,
    read_at bigint NOT NULL
);

CREATE INDEX table_reads_digest ON table_reads (digest, read_at);

-- Whether a part's number is somebody else's barcode is asked case-blind.
CREATE INDEX barcodes_spelled ON barcodes (lower(code_key));
