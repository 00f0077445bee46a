-- The list of boards reads this index alone: without `deleted_at` in it SQLite goes back to each check's row, which holds
-- its whole result.
DROP INDEX checks_by_board;
CREATE INDEX checks_by_board ON checks (board_id, at_ms, id, at, deleted_at) WHERE deleted_at IS NULL;
