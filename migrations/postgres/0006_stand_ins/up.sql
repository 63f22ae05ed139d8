-- Signed statements that one part stands in for another. They name parts by maker and number: the
-- catalogue may lack either. The pair is both names without case in a fixed order, so that the same
-- two parts stand once from each who says so, whichever way round. Bare is a number without case and
-- separators: what near spellings are looked up by.
CREATE TABLE stand_ins (
    id text COLLATE "C" NOT NULL PRIMARY KEY,
    maker text COLLATE "C" NOT NULL,
    maker_key text COLLATE "C" NOT NULL,
    part_number text COLLATE "C" NOT NULL,
    part_key text COLLATE "C" NOT NULL,
    part_bare text COLLATE "C" NOT NULL,
    for_maker text COLLATE "C" NOT NULL,
    for_maker_key text COLLATE "C" NOT NULL,
    for_part_number text COLLATE "C" NOT NULL,
    for_part_key text COLLATE "C" NOT NULL,
    for_part_bare text COLLATE "C" NOT NULL,
    pair text COLLATE "C" NOT NULL,
    direction text COLLATE "C" NOT NULL,
    who text COLLATE "C" NOT NULL,
    who_key text COLLATE "C" NOT NULL,
    source text COLLATE "C",
    note text COLLATE "C",
    recorded_by text COLLATE "C" NOT NULL,
    created_at bigint NOT NULL
);

CREATE UNIQUE INDEX stand_ins_pair ON stand_ins (pair, who_key);
CREATE INDEX stand_ins_part ON stand_ins (part_key, maker_key);
CREATE INDEX stand_ins_for_part ON stand_ins (for_part_key, for_maker_key);
CREATE INDEX stand_ins_part_bare ON stand_ins (part_bare);
CREATE INDEX stand_ins_for_part_bare ON stand_ins (for_part_bare);
