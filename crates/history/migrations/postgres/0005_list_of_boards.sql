-- The list of boards reads this index alone; the same one as on SQLite, which needs `deleted_at` in it for that.
DROP INDEX checks_by_board;
CREATE INDEX checks_by_board ON checks (board_id, at_ms, id, at, deleted_at) WHERE deleted_at IS NULL;
