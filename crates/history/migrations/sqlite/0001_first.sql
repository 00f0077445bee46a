-- Lengths mm. Times: RFC 3339 text as the user's clock showed it, and milliseconds since 1970 UTC to sort by.
-- Deletion is a mark: `deleted_at` is set and the row stays.

-- The newest program that wrote here, to be named when an older one is refused.
CREATE TABLE program (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    version TEXT NOT NULL
) STRICT;

CREATE TABLE boards (
    id TEXT PRIMARY KEY,
    name TEXT NOT NULL,
    owner TEXT NOT NULL,
    notes TEXT NOT NULL,
    created_at TEXT NOT NULL,
    changed_at TEXT NOT NULL,
    deleted_at TEXT
) STRICT;

-- What is known of a board's drive, the same on both corners.
CREATE TABLE drives (
    board_id TEXT PRIMARY KEY REFERENCES boards (id),
    rim_diameter_mm REAL NOT NULL,
    mount_chamfer_mm REAL,
    rim_chamfer_mm REAL,
    located TEXT NOT NULL CHECK (located IN ('hub', 'pulley', 'wheel')),
    minimum_gap_mm REAL NOT NULL,
    motor_slide_in_mm REAL NOT NULL,
    motor_slide_out_mm REAL NOT NULL,
    same_spacer_everywhere INTEGER NOT NULL CHECK (same_spacer_everywhere IN (0, 1)),
    stack_limit INTEGER NOT NULL CHECK (stack_limit >= 0)
) STRICT;

-- What is fitted at each corner now.
CREATE TABLE corners (
    board_id TEXT NOT NULL REFERENCES boards (id),
    corner TEXT NOT NULL CHECK (corner IN ('left', 'right')),
    spacer_label TEXT NOT NULL,
    spacer_thickness_mm REAL NOT NULL,
    belt_offset_mm REAL NOT NULL,
    belt_offset_u95_mm REAL NOT NULL,
    PRIMARY KEY (board_id, corner)
) STRICT;

CREATE TABLE spacer_stock (
    id TEXT PRIMARY KEY,
    position INTEGER NOT NULL,
    label TEXT NOT NULL,
    thickness_mm REAL NOT NULL,
    u95_mm REAL NOT NULL,
    count INTEGER NOT NULL CHECK (count >= 0),
    changed_at TEXT NOT NULL,
    deleted_at TEXT
) STRICT;
CREATE UNIQUE INDEX spacer_stock_by_label ON spacer_stock (label) WHERE deleted_at IS NULL;

-- What happened to a board on one day.
CREATE TABLE visits (
    id TEXT PRIMARY KEY,
    board_id TEXT NOT NULL REFERENCES boards (id),
    day TEXT NOT NULL,
    opened_at TEXT NOT NULL,
    deleted_at TEXT
) STRICT;
CREATE UNIQUE INDEX visits_by_day ON visits (board_id, day) WHERE deleted_at IS NULL;

-- A measurement with all that went into it. `board` is the board as it was at that moment.
CREATE TABLE checks (
    id TEXT PRIMARY KEY,
    visit_id TEXT NOT NULL REFERENCES visits (id),
    board_id TEXT NOT NULL REFERENCES boards (id),
    corner TEXT NOT NULL CHECK (corner IN ('left', 'right')),
    kind TEXT NOT NULL,
    at TEXT NOT NULL,
    at_ms INTEGER NOT NULL,
    board TEXT NOT NULL CHECK (json_valid(board)),
    job TEXT NOT NULL CHECK (json_valid(job)),
    camera TEXT CHECK (camera IS NULL OR json_valid(camera)),
    result TEXT NOT NULL CHECK (json_valid(result)),
    program TEXT NOT NULL,
    deleted_at TEXT
) STRICT;
CREATE INDEX checks_by_board ON checks (board_id, at_ms) WHERE deleted_at IS NULL;
CREATE INDEX checks_by_visit ON checks (visit_id);

CREATE TABLE advice (
    id TEXT PRIMARY KEY,
    check_id TEXT NOT NULL UNIQUE REFERENCES checks (id),
    question TEXT CHECK (question IS NULL OR json_valid(question)),
    answer TEXT NOT NULL CHECK (json_valid(answer))
) STRICT;

-- What was done about a check. A correction is a new row; the newest one counts.
CREATE TABLE work_done (
    id TEXT PRIMARY KEY,
    check_id TEXT NOT NULL REFERENCES checks (id),
    text TEXT NOT NULL,
    at TEXT NOT NULL,
    at_ms INTEGER NOT NULL
) STRICT;
CREATE INDEX work_done_by_check ON work_done (check_id, at_ms);

-- The bytes lie beside the database under their SHA-256; a row is written only after its file is safe on the disk.
CREATE TABLE photos (
    sha256 TEXT PRIMARY KEY CHECK (length(sha256) = 64),
    bytes INTEGER NOT NULL,
    facts TEXT NOT NULL CHECK (json_valid(facts)),
    stored_at TEXT NOT NULL
) STRICT;

CREATE TABLE check_photos (
    check_id TEXT NOT NULL REFERENCES checks (id),
    position INTEGER NOT NULL,
    sha256 TEXT NOT NULL REFERENCES photos (sha256),
    name TEXT NOT NULL,
    PRIMARY KEY (check_id, position)
) STRICT;
CREATE INDEX check_photos_by_photo ON check_photos (sha256);
