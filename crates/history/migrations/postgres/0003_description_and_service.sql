-- Teeth, belt, screws, masses and limits of a drive; absent until somebody describes them.
ALTER TABLE drives ADD COLUMN description TEXT CHECK (description IS NULL OR description::json IS NOT NULL);

-- Service checks that were done by hand. `day` is the day that the person names, `at` when it was written down.
CREATE TABLE service_done (
    id TEXT PRIMARY KEY,
    board_id TEXT NOT NULL REFERENCES boards (id),
    check_name TEXT NOT NULL,
    day TEXT NOT NULL,
    odometer_km DOUBLE PRECISION,
    note TEXT NOT NULL,
    at TEXT NOT NULL,
    at_ms BIGINT NOT NULL,
    deleted_at TEXT
);
CREATE INDEX service_done_by_board ON service_done (board_id, day) WHERE deleted_at IS NULL;
