-- What the shop keeps about itself, such as the lineage of this database.
CREATE TABLE meta (
    key text COLLATE "C" NOT NULL PRIMARY KEY,
    value text COLLATE "C" NOT NULL
);

CREATE TABLE heat_scales (
    id text COLLATE "C" NOT NULL PRIMARY KEY,
    maker text COLLATE "C" NOT NULL,
    maker_key text COLLATE "C" NOT NULL,
    name text COLLATE "C" NOT NULL,
    name_key text COLLATE "C" NOT NULL,
    codes text COLLATE "C" NOT NULL,
    version bigint NOT NULL,
    created_at bigint NOT NULL,
    updated_at bigint NOT NULL
);

CREATE UNIQUE INDEX heat_scales_name ON heat_scales (maker_key, name_key);

-- The ordinal is the row itself and is never given twice: the live stock table lies by it.
-- Attributes carry the name of their member in JSON: listed words as text, numbers in units of
-- the last place that is kept, yes and no as 1 and 0. Each movement raises stock_version: room is
-- left on the pages for that.
CREATE TABLE plugs (
    ordinal bigserial NOT NULL PRIMARY KEY,
    id text COLLATE "C" NOT NULL CONSTRAINT plugs_id UNIQUE,
    maker text COLLATE "C" NOT NULL,
    maker_key text COLLATE "C" NOT NULL,
    part_number text COLLATE "C" NOT NULL,
    part_key text COLLATE "C" NOT NULL,
    gtin text COLLATE "C",
    description text COLLATE "C",
    thread text COLLATE "C",
    reach_mm bigint,
    seat text COLLATE "C",
    hex_mm bigint,
    hex_kind text COLLATE "C",
    heat_index bigint,
    projection_mm bigint,
    strap_extent_mm bigint,
    resistor bigint,
    resistance_ohm bigint,
    electrode text COLLATE "C",
    ground text COLLATE "C",
    gap_preset_mm bigint,
    gap_min_mm bigint,
    gap_max_mm bigint,
    terminal text COLLATE "C",
    overall_mm bigint,
    insulator_mm bigint,
    service_life_km bigint,
    torque_nm bigint,
    pack_size bigint,
    heat_scale_id text COLLATE "C" REFERENCES heat_scales (id),
    heat_code text COLLATE "C",
    status text COLLATE "C" NOT NULL,
    superseded_by text COLLATE "C" REFERENCES plugs (id),
    provenance text COLLATE "C" NOT NULL,
    retired bigint NOT NULL,
    version bigint NOT NULL,
    stock_version bigint NOT NULL DEFAULT 0,
    created_at bigint NOT NULL,
    updated_at bigint NOT NULL
) WITH (fillfactor = 80);

CREATE UNIQUE INDEX plugs_name ON plugs (maker_key, part_key);
CREATE INDEX plugs_part ON plugs (part_key);
CREATE INDEX plugs_gtin ON plugs (gtin) WHERE gtin IS NOT NULL;
CREATE INDEX plugs_heat_scale ON plugs (heat_scale_id) WHERE heat_scale_id IS NOT NULL;
CREATE INDEX plugs_superseded_by ON plugs (superseded_by) WHERE superseded_by IS NOT NULL;

-- Marks of what changed, for whoever keeps a copy: readers look at the state themselves.
-- The position is the transaction's own number: numbers below the oldest running one are final,
-- whereas a sequence is not in the order of commits and a reader of it would miss rows.
CREATE TABLE outbox (
    number bigserial NOT NULL PRIMARY KEY,
    position bigint NOT NULL DEFAULT (pg_current_xact_id()::text::bigint),
    kind text COLLATE "C" NOT NULL,
    id text COLLATE "C" NOT NULL
);

CREATE INDEX outbox_position ON outbox (position, number);
