-- Signed statements that one part stands in for another. They name parts by maker and number: the
-- catalogue may lack either. The pair is both names without case in a fixed order, so that the same
-- two parts stand once from each who says so, whichever way round. Bare is a number without case and
-- separators: what near spellings are looked up by.
CREATE TABLE stand_ins (
    id TEXT NOT NULL PRIMARY KEY,
    maker TEXT NOT NULL,
    maker_key TEXT NOT NULL,
    part_number TEXT NOT NULL,
    part_key TEXT NOT NULL,
    part_bare TEXT NOT NULL,
    for_maker TEXT NOT NULL,
    for_maker_key TEXT NOT NULL,
    for_part_number TEXT NOT NULL,
    for_part_key TEXT NOT NULL,
    for_part_bare TEXT NOT NULL,
    pair TEXT NOT NULL,
    direction TEXT NOT NULL,
    who TEXT NOT NULL,
    who_key TEXT NOT NULL,
    source TEXT,
    note TEXT,
    recorded_by TEXT NOT NULL,
    created_at INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE UNIQUE INDEX stand_ins_pair ON stand_ins (pair, who_key);
CREATE INDEX stand_ins_part ON stand_ins (part_key, maker_key);
CREATE INDEX stand_ins_for_part ON stand_ins (for_part_key, for_maker_key);
CREATE INDEX stand_ins_part_bare ON stand_ins (part_bare);
CREATE INDEX stand_ins_for_part_bare ON stand_ins (for_part_bare);
