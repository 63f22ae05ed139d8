DROP INDEX lots_order_line;
ALTER TABLE lots DROP COLUMN order_line_id;
DROP TABLE order_lines;
DROP TABLE orders;
DROP TABLE suppliers;
