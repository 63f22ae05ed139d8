-- What the shop keeps about itself, such as the lineage of this database.
CREATE TABLE meta (
    key TEXT NOT NULL PRIMARY KEY,
    value TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE heat_scales (
    id TEXT NOT NULL PRIMARY KEY,
    maker TEXT NOT NULL,
    maker_key TEXT NOT NULL,
    name TEXT NOT NULL,
    name_key TEXT NOT NULL,
    codes TEXT NOT NULL,
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE UNIQUE INDEX heat_scales_name ON heat_scales (maker_key, name_key);

-- The ordinal is the row itself and is never given twice: the live stock table lies by it.
-- Attributes carry the name of their member in JSON: listed words as text, numbers in units of
-- the last place that is kept, yes and no as 1 and 0.
CREATE TABLE plugs (
    ordinal INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL,
    maker TEXT NOT NULL,
    maker_key TEXT NOT NULL,
    part_number TEXT NOT NULL,
    part_key TEXT NOT NULL,
    gtin TEXT,
    description TEXT,
    thread TEXT,
    reach_mm INTEGER,
    seat TEXT,
    hex_mm INTEGER,
    hex_kind TEXT,
    heat_index INTEGER,
    projection_mm INTEGER,
    strap_extent_mm INTEGER,
    resistor INTEGER,
    resistance_ohm INTEGER,
    electrode TEXT,
    ground TEXT,
    gap_preset_mm INTEGER,
    gap_min_mm INTEGER,
    gap_max_mm INTEGER,
    terminal TEXT,
    overall_mm INTEGER,
    insulator_mm INTEGER,
    service_life_km INTEGER,
    torque_nm INTEGER,
    pack_size INTEGER,
    heat_scale_id TEXT REFERENCES heat_scales (id),
    heat_code TEXT,
    status TEXT NOT NULL,
    superseded_by TEXT REFERENCES plugs (id),
    provenance TEXT NOT NULL,
    retired INTEGER NOT NULL,
    version INTEGER NOT NULL,
    stock_version INTEGER NOT NULL DEFAULT 0,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL
) STRICT;

CREATE UNIQUE INDEX plugs_id ON plugs (id);
CREATE UNIQUE INDEX plugs_name ON plugs (maker_key, part_key);
CREATE INDEX plugs_part ON plugs (part_key);
CREATE INDEX plugs_gtin ON plugs (gtin) WHERE gtin IS NOT NULL;
CREATE INDEX plugs_heat_scale ON plugs (heat_scale_id) WHERE heat_scale_id IS NOT NULL;
CREATE INDEX plugs_superseded_by ON plugs (superseded_by) WHERE superseded_by IS NOT NULL;

-- Marks of what changed, for whoever keeps a copy: readers look at the state themselves.
CREATE TABLE outbox (
    position INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    kind TEXT NOT NULL,
    id TEXT NOT NULL
) STRICT;
