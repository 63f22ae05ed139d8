DROP TABLE outbox;
DROP TABLE plugs;
DROP TABLE heat_scales;
DROP TABLE meta;
