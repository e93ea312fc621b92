-- The register of fulgurite, version 1: one SQLite file, a row for each record, series, finding and use of equipment.
-- Written by `fulgurite schema register`; `PRAGMA user_version` is the version, `PRAGMA application_id` is 1179995207
-- (the letters FULG).
--
-- Read it with any SQLite; write to it with the program only, or into tables of your own whose names begin with `x_`:
-- those are never touched. Columns are added at the end and with a higher version; none changes in what it means.
-- A newer program brings an older register up to its own version in one transaction; an older program refuses a newer one.
--
-- Days are ISO 8601 (2026-03-12). What nobody stated is NULL. Voltages stand twice: `voltage_kv` with the digits as
-- written, `voltage_kv_number` for comparing.

-- One record: one test job as it was read. The same record is one row, however often it is entered.
CREATE TABLE record (
    id INTEGER PRIMARY KEY,
    sha256 TEXT NOT NULL UNIQUE,            -- of the record's canonical JSON (the file that --to json writes)
    entered_at TEXT NOT NULL,               -- when the row was first written, UTC
    job TEXT NOT NULL,                      -- name of the job
    input TEXT NOT NULL,                    -- path of the job when it was entered last
    program TEXT NOT NULL,                  -- name and version of the program that entered it last
    rules_version INTEGER NOT NULL,         -- rules under which the verdict was computed
    laboratory TEXT,
    client TEXT,
    report_number TEXT,
    report_revision TEXT,
    report_state TEXT,                      -- draft or issued
    issued_on TEXT,
    work_started TEXT,                      -- as stated, else the day of the first series
    work_ended TEXT,                        -- as stated, else the day of the last series
    item TEXT,
    item_type TEXT,
    item_serial TEXT,
    hardware_version TEXT,
    firmware_version TEXT,
    standard TEXT,                          -- id of the standard's data
    level TEXT,
    judged_state TEXT,                      -- modification state of the item that the verdict is about
    verdict TEXT NOT NULL CHECK (verdict IN ('pass', 'fail', 'undetermined')),
    failure_observed INTEGER NOT NULL,      -- 1: a failure was observed, at a severity that is not known
    bench_data INTEGER NOT NULL,            -- 1: facts are missing without which no conformity can be stated
    reason TEXT,                            -- the first reason of the verdict
    invented TEXT                           -- set when the data are invented: the words that say so
) STRICT;

-- One series of discharges that was applied.
CREATE TABLE series (
    record INTEGER NOT NULL REFERENCES record (id) ON DELETE CASCADE,
    series TEXT NOT NULL,                   -- its id in the record
    point TEXT NOT NULL,
    application TEXT NOT NULL,
    polarity TEXT NOT NULL,
    voltage_kv TEXT NOT NULL,
    voltage_kv_number REAL NOT NULL,
    discharges INTEGER NOT NULL,
    state TEXT,                             -- modification state of the item
    mode TEXT,
    kind TEXT NOT NULL,                     -- compliance, exploratory, threshold ...
    external_reference TEXT,
    file TEXT,                              -- original file
    first_row INTEGER,                      -- rows in it, from 1
    last_row INTEGER,
    PRIMARY KEY (record, series)
) STRICT, WITHOUT ROWID;

-- One finding: something that a person must know.
CREATE TABLE finding (
    record INTEGER NOT NULL REFERENCES record (id) ON DELETE CASCADE,
    number INTEGER NOT NULL,                -- in the order in which they are shown, from 1
    severity TEXT NOT NULL,                 -- error, warning or note
    code TEXT NOT NULL,                     -- `fulgurite explain CODE` tells more
    message TEXT NOT NULL,
    file TEXT,
    row INTEGER,
    column INTEGER,
    PRIMARY KEY (record, number)
) STRICT, WITHOUT ROWID;

-- One piece of equipment that the record names.
CREATE TABLE equipment_use (
    record INTEGER NOT NULL REFERENCES record (id) ON DELETE CASCADE,
    equipment TEXT NOT NULL,                -- inventory name
    role TEXT,
    name TEXT,
    serial TEXT,
    calibrated_on TEXT,
    calibration_due TEXT,
    certificate TEXT,
    PRIMARY KEY (record, equipment)
) STRICT, WITHOUT ROWID;

-- One reference of somebody else: order, sample, method code.
CREATE TABLE reference (
    record INTEGER NOT NULL REFERENCES record (id) ON DELETE CASCADE,
    number INTEGER NOT NULL,
    kind TEXT NOT NULL,
    value TEXT NOT NULL,
    revision TEXT,
    belongs_to TEXT,
    PRIMARY KEY (record, number)
) STRICT, WITHOUT ROWID;

CREATE INDEX record_by_serial ON record (item_serial);
CREATE INDEX record_by_standard ON record (standard);
CREATE INDEX record_by_day ON record (work_ended);
CREATE INDEX equipment_by_name ON equipment_use (equipment);
CREATE INDEX equipment_by_serial ON equipment_use (serial);
CREATE INDEX reference_by_value ON reference (value);
CREATE INDEX series_by_reference ON series (external_reference) WHERE external_reference IS NOT NULL;
CREATE INDEX finding_by_code ON finding (code);
