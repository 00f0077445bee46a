-- Several benches at one history, and a history that grows large.

-- Goes up with every change, so that a change which was made from an outdated state is seen.
ALTER TABLE boards ADD COLUMN revision INTEGER NOT NULL DEFAULT 1;

-- Name, owner and notes in small letters, to be searched. The program fills it where it is null.
ALTER TABLE boards ADD COLUMN search TEXT;

-- The revision of the stock as a whole.
CREATE TABLE stock_state (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    revision INTEGER NOT NULL
) STRICT;
INSERT INTO stock_state (id, revision) VALUES (1, 1);

-- The list of boards needs the newest check of each: with its moment in the index, no row is read.
DROP INDEX checks_by_board;
CREATE INDEX checks_by_board ON checks (board_id, at_ms, id, at) WHERE deleted_at IS NULL;

-- Values of a corner over time.
CREATE INDEX checks_by_corner ON checks (board_id, corner, kind, at_ms) WHERE deleted_at IS NULL;
