-- Who hands out records; one row.
CREATE TABLE shop (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    name TEXT NOT NULL,
    address TEXT NOT NULL,
    technician TEXT NOT NULL,
    changed_at TEXT NOT NULL
) STRICT;

-- What was written down of a visit. A correction is a new row; the newest one counts.
CREATE TABLE visit_notes (
    id TEXT PRIMARY KEY,
    visit_id TEXT NOT NULL REFERENCES visits (id),
    notes TEXT NOT NULL CHECK (json_valid(notes)),
    at TEXT NOT NULL,
    at_ms INTEGER NOT NULL
) STRICT;
CREATE INDEX visit_notes_by_visit ON visit_notes (visit_id, at_ms);

-- Sealed records of a board, each naming the seal before it. Rows are only ever added.
CREATE TABLE seals (
    board_id TEXT NOT NULL REFERENCES boards (id),
    number INTEGER NOT NULL CHECK (number >= 1),
    visit_id TEXT NOT NULL REFERENCES visits (id),
    seal TEXT NOT NULL CHECK (length(seal) = 64),
    previous TEXT CHECK (previous IS NULL OR length(previous) = 64),
    fingerprint TEXT NOT NULL CHECK (length(fingerprint) = 64),
    -- How it was made, so that the same record can be handed out again byte for byte.
    form TEXT NOT NULL,
    at TEXT NOT NULL,
    PRIMARY KEY (board_id, number)
) STRICT;
