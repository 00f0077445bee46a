-- The same as for SQLite, in PostgreSQL's types. A text that is no JSON fails at the cast.
-- Lengths mm. Times: RFC 3339 text as the user's clock showed it, and milliseconds since 1970 UTC to sort by.
-- Deletion is a mark: `deleted_at` is set and the row stays.

-- The newest program that wrote here, to be named when an older one is refused.
CREATE TABLE program (
    id BIGINT PRIMARY KEY CHECK (id = 1),
    version TEXT NOT NULL
);

CREATE TABLE boards (
    id TEXT PRIMARY KEY,
    name TEXT NOT NULL,
    owner TEXT NOT NULL,
    notes TEXT NOT NULL,
    created_at TEXT NOT NULL,
    changed_at TEXT NOT NULL,
    deleted_at TEXT
);

-- What is known of a board's drive, the same on both corners.
CREATE TABLE drives (
    board_id TEXT PRIMARY KEY REFERENCES boards (id),
    rim_diameter_mm DOUBLE PRECISION NOT NULL,
    mount_chamfer_mm DOUBLE PRECISION,
    rim_chamfer_mm DOUBLE PRECISION,
    located TEXT NOT NULL CHECK (located IN ('hub', 'pulley', 'wheel')),
    minimum_gap_mm DOUBLE PRECISION NOT NULL,
    motor_slide_in_mm DOUBLE PRECISION NOT NULL,
    motor_slide_out_mm DOUBLE PRECISION NOT NULL,
    same_spacer_everywhere BIGINT NOT NULL CHECK (same_spacer_everywhere IN (0, 1)),
    stack_limit BIGINT NOT NULL CHECK (stack_limit >= 0)
);

-- What is fitted at each corner now.
CREATE TABLE corners (
    board_id TEXT NOT NULL REFERENCES boards (id),
    corner TEXT NOT NULL CHECK (corner IN ('left', 'right')),
    spacer_label TEXT NOT NULL,
    spacer_thickness_mm DOUBLE PRECISION NOT NULL,
    belt_offset_mm DOUBLE PRECISION NOT NULL,
    belt_offset_u95_mm DOUBLE PRECISION NOT NULL,
    PRIMARY KEY (board_id, corner)
);

CREATE TABLE spacer_stock (
    id TEXT PRIMARY KEY,
    position BIGINT NOT NULL,
    label TEXT NOT NULL,
    thickness_mm DOUBLE PRECISION NOT NULL,
    u95_mm DOUBLE PRECISION NOT NULL,
    count BIGINT NOT NULL CHECK (count >= 0),
    changed_at TEXT NOT NULL,
    deleted_at TEXT
);
CREATE UNIQUE INDEX spacer_stock_by_label ON spacer_stock (label) WHERE deleted_at IS NULL;

-- What happened to a board on one day.
CREATE TABLE visits (
    id TEXT PRIMARY KEY,
    board_id TEXT NOT NULL REFERENCES boards (id),
    day TEXT NOT NULL,
    opened_at TEXT NOT NULL,
    deleted_at TEXT
);
CREATE UNIQUE INDEX visits_by_day ON visits (board_id, day) WHERE deleted_at IS NULL;

-- A measurement with all that went into it. `board` is the board as it was at that moment.
CREATE TABLE checks (
    id TEXT PRIMARY KEY,
    visit_id TEXT NOT NULL REFERENCES visits (id),
    board_id TEXT NOT NULL REFERENCES boards (id),
    corner TEXT NOT NULL CHECK (corner IN ('left', 'right')),
    kind TEXT NOT NULL,
    at TEXT NOT NULL,
    at_ms BIGINT NOT NULL,
    board TEXT NOT NULL CHECK (board::json IS NOT NULL),
    job TEXT NOT NULL CHECK (job::json IS NOT NULL),
    camera TEXT CHECK (camera IS NULL OR camera::json IS NOT NULL),
    result TEXT NOT NULL CHECK (result::json IS NOT NULL),
    program TEXT NOT NULL,
    deleted_at TEXT
);
CREATE INDEX checks_by_board ON checks (board_id, at_ms) WHERE deleted_at IS NULL;
CREATE INDEX checks_by_visit ON checks (visit_id);

CREATE TABLE advice (
    id TEXT PRIMARY KEY,
    check_id TEXT NOT NULL UNIQUE REFERENCES checks (id),
    question TEXT CHECK (question IS NULL OR question::json IS NOT NULL),
    answer TEXT NOT NULL CHECK (answer::json IS NOT NULL)
);

-- What was done about a check. A correction is a new row; the newest one counts.
CREATE TABLE work_done (
    id TEXT PRIMARY KEY,
    check_id TEXT NOT NULL REFERENCES checks (id),
    text TEXT NOT NULL,
    at TEXT NOT NULL,
    at_ms BIGINT NOT NULL
);
CREATE INDEX work_done_by_check ON work_done (check_id, at_ms);

-- The bytes lie beside the database under their SHA-256; a row is written only after its file is safe on the disk.
CREATE TABLE photos (
    sha256 TEXT PRIMARY KEY CHECK (length(sha256) = 64),
    bytes BIGINT NOT NULL,
    facts TEXT NOT NULL CHECK (facts::json IS NOT NULL),
    stored_at TEXT NOT NULL
);

CREATE TABLE check_photos (
    check_id TEXT NOT NULL REFERENCES checks (id),
    position BIGINT NOT NULL,
    sha256 TEXT NOT NULL REFERENCES photos (sha256),
    name TEXT NOT NULL,
    PRIMARY KEY (check_id, position)
);
CREATE INDEX check_photos_by_photo ON check_photos (sha256);
