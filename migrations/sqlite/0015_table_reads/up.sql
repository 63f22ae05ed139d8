-- Which tables of stock were received already: what one booked, as a digest, by whom and when.
CREATE TABLE table_reads (
    id TEXT NOT NULL PRIMARY KEY,
    digest TEXT NOT NULL,
    row_count INTEGER NOT NULL,
    read_by TEXT NOT NULL,
    read_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE INDEX table_reads_digest ON table_reads (digest, read_at);

-- Whether a part's number is somebody else's barcode is asked case-blind.
CREATE INDEX barcodes_spelled ON barcodes (lower(code_key));
