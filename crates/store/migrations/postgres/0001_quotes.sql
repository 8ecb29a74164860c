-- Events, quotes and tariff editions. Rows are added, never changed. Times are microseconds since 1970 UTC,
-- amounts are minor units. Texts are compared byte by byte, as SQLite does.

-- The chain: 1, 2, 3 without a gap.
CREATE TABLE events (
    sequence    bigint PRIMARY KEY,
    kind        text NOT NULL,
    recorded    bigint NOT NULL,
    caller      text COLLATE "C" NOT NULL,
    request_id  text COLLATE "C" NOT NULL UNIQUE,
    fingerprint bytea NOT NULL,
    subject     text COLLATE "C" NOT NULL,
    revision    bigint,
    offer       text,
    settled     date,
    reason      text NOT NULL,
    content     bytea,
    previous    bytea NOT NULL,
    hash        bytea NOT NULL
);

-- What became of a number; an entry knows the event that issued it. Most events issue, and are not in here.
CREATE INDEX events_by_subject ON events (subject, sequence) WHERE kind <> 'issued';

-- Quotes, revisions and opposite entries, each by the event that wrote it. What became of one is read off the
-- last event of its number.
CREATE TABLE entries (
    event         bigint PRIMARY KEY REFERENCES events (sequence),
    first         bigint NOT NULL REFERENCES events (sequence),
    series        text COLLATE "C" NOT NULL,
    year          bigint NOT NULL,
    sequence      bigint NOT NULL,
    revision      bigint NOT NULL,
    reversal      boolean NOT NULL,
    reference     text COLLATE "C" NOT NULL,
    customer      text NOT NULL,
    edition       text NOT NULL,
    currency      text NOT NULL,
    quoted        date NOT NULL,
    valid_until   date NOT NULL,
    end_net_minor bigint NOT NULL,
    offers        text NOT NULL,
    document      bytea NOT NULL,
    number        text COLLATE "C" NOT NULL GENERATED ALWAYS AS (
        series || '-' || lpad(year::text, 4, '0')
        || '-' || lpad(sequence::text, greatest(5, length(sequence::text)), '0')
    ) STORED,
    UNIQUE (series, year, sequence, revision, reversal)
);

-- Documents come compressed or too random for it.
ALTER TABLE entries ALTER COLUMN document SET STORAGE EXTERNAL;

CREATE INDEX entries_by_issue ON entries (first, event);
CREATE INDEX entries_by_reference ON entries (reference, first);

-- Who is on the route of an entry, nearest to the workshop first, and so may see it.
CREATE TABLE entry_partners (
    event    bigint NOT NULL REFERENCES entries (event),
    position bigint NOT NULL,
    partner  text COLLATE "C" NOT NULL,
    first    bigint NOT NULL,
    PRIMARY KEY (event, position)
);

CREATE INDEX entry_partners_by_partner ON entry_partners (partner, first, event, position);

CREATE TABLE editions (
    event    bigint PRIMARY KEY REFERENCES events (sequence),
    code     text COLLATE "C" NOT NULL UNIQUE,
    begins   date NOT NULL UNIQUE,
    ends     date,
    currency text NOT NULL,
    archive  bytea NOT NULL
);

CREATE FUNCTION evenfare_refuse() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'rows of % are never changed or removed', TG_TABLE_NAME;
END
$$;

CREATE TRIGGER events_stay BEFORE UPDATE OR DELETE OR TRUNCATE ON events
    FOR EACH STATEMENT EXECUTE FUNCTION evenfare_refuse();
CREATE TRIGGER entries_stay BEFORE UPDATE OR DELETE OR TRUNCATE ON entries
    FOR EACH STATEMENT EXECUTE FUNCTION evenfare_refuse();
CREATE TRIGGER entry_partners_stay BEFORE UPDATE OR DELETE OR TRUNCATE ON entry_partners
    FOR EACH STATEMENT EXECUTE FUNCTION evenfare_refuse();
CREATE TRIGGER editions_stay BEFORE UPDATE OR DELETE OR TRUNCATE ON editions
    FOR EACH STATEMENT EXECUTE FUNCTION evenfare_refuse();
