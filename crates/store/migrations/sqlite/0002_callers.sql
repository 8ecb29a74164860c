-- Callers come in. Who may call is asked for again and again, and so is whether that or the tariff has changed:
-- the index holds only the few events that change it.
CREATE TABLE callers (
    event      INTEGER PRIMARY KEY REFERENCES events (sequence),
    name       TEXT NOT NULL UNIQUE,
    role       TEXT NOT NULL,
    kind       TEXT NOT NULL,
    credential BLOB NOT NULL UNIQUE
) STRICT;

CREATE INDEX events_of_settings ON events (sequence)
    WHERE kind IN ('published', 'caller_added', 'caller_withdrawn');

CREATE TRIGGER callers_stay BEFORE UPDATE ON callers BEGIN SELECT raise(ABORT, 'callers are never changed'); END;
CREATE TRIGGER callers_remain BEFORE DELETE ON callers BEGIN SELECT raise(ABORT, 'callers are never removed'); END;
