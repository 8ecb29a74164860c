-- Events, quotes and tariff editions. Rows are added, never changed. Times are microseconds since 1970 UTC,
-- days are text such as 2026-07-01, amounts are minor units.

-- The chain: 1, 2, 3 without a gap.
CREATE TABLE events (
    sequence    INTEGER PRIMARY KEY,
    kind        TEXT NOT NULL,
    recorded    INTEGER NOT NULL,
    caller      TEXT NOT NULL,
    request_id  TEXT NOT NULL UNIQUE,
    fingerprint BLOB NOT NULL,
    subject     TEXT NOT NULL,
    revision    INTEGER,
    offer       TEXT,
    settled     TEXT,
    reason      TEXT NOT NULL,
    content     BLOB,
    previous    BLOB NOT NULL,
    hash        BLOB NOT NULL
) STRICT;

-- What became of a number; an entry knows the event that issued it. Most events issue, and are not in here.
CREATE INDEX events_by_subject ON events (subject, sequence) WHERE kind <> 'issued';

-- Quotes, revisions and opposite entries, each by the event that wrote it. What became of one is read off the
-- last event of its number. The document stands last: lists do not have to read past it.
CREATE TABLE entries (
    event         INTEGER PRIMARY KEY REFERENCES events (sequence),
    first         INTEGER NOT NULL REFERENCES events (sequence),
    series        TEXT NOT NULL,
    year          INTEGER NOT NULL,
    sequence      INTEGER NOT NULL,
    revision      INTEGER NOT NULL,
    reversal      INTEGER NOT NULL CHECK (reversal IN (0, 1)),
    reference     TEXT NOT NULL,
    customer      TEXT NOT NULL,
    edition       TEXT NOT NULL,
    currency      TEXT NOT NULL,
    quoted        TEXT NOT NULL,
    valid_until   TEXT NOT NULL,
    end_net_minor INTEGER NOT NULL,
    offers        TEXT NOT NULL,
    document      BLOB NOT NULL,
    number        TEXT NOT NULL AS (printf('%s-%04d-%05d', series, year, sequence)) VIRTUAL,
    UNIQUE (series, year, sequence, revision, reversal)
) STRICT;

CREATE INDEX entries_by_issue ON entries (first, event);
CREATE INDEX entries_by_reference ON entries (reference, first);

-- Who is on the route of an entry, nearest to the workshop first, and so may see it.
CREATE TABLE entry_partners (
    event    INTEGER NOT NULL REFERENCES entries (event),
    position INTEGER NOT NULL,
    partner  TEXT NOT NULL,
    first    INTEGER NOT NULL,
    PRIMARY KEY (event, position)
) STRICT, WITHOUT ROWID;

CREATE INDEX entry_partners_by_partner ON entry_partners (partner, first, event, position);

CREATE TABLE editions (
    event    INTEGER PRIMARY KEY REFERENCES events (sequence),
    code     TEXT NOT NULL UNIQUE,
    begins   TEXT NOT NULL UNIQUE,
    ends     TEXT,
    currency TEXT NOT NULL,
    archive  BLOB NOT NULL
) STRICT;

CREATE TRIGGER events_stay BEFORE UPDATE ON events BEGIN SELECT raise(ABORT, 'events are never changed'); END;
CREATE TRIGGER events_remain BEFORE DELETE ON events BEGIN SELECT raise(ABORT, 'events are never removed'); END;
CREATE TRIGGER entries_stay BEFORE UPDATE ON entries BEGIN SELECT raise(ABORT, 'entries are never changed'); END;
CREATE TRIGGER entries_remain BEFORE DELETE ON entries BEGIN SELECT raise(ABORT, 'entries are never removed'); END;
CREATE TRIGGER entry_partners_stay BEFORE UPDATE ON entry_partners BEGIN SELECT raise(ABORT, 'partners of an entry are never changed'); END;
CREATE TRIGGER entry_partners_remain BEFORE DELETE ON entry_partners BEGIN SELECT raise(ABORT, 'partners of an entry are never removed'); END;
CREATE TRIGGER editions_stay BEFORE UPDATE ON editions BEGIN SELECT raise(ABORT, 'editions are never changed'); END;
CREATE TRIGGER editions_remain BEFORE DELETE ON editions BEGIN SELECT raise(ABORT, 'editions are never removed'); END;
