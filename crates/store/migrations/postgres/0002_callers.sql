-- Callers come in. Who may call is asked for again and again, and so is whether that or the tariff has changed:
-- the index holds only the few events that change it.
CREATE TABLE callers (
    event      bigint PRIMARY KEY REFERENCES events (sequence),
    name       text COLLATE "C" NOT NULL UNIQUE,
    role       text NOT NULL,
    kind       text NOT NULL,
    credential bytea NOT NULL UNIQUE
);

CREATE INDEX events_of_settings ON events (sequence)
    WHERE kind IN ('published', 'caller_added', 'caller_withdrawn');

CREATE TRIGGER callers_stay BEFORE UPDATE OR DELETE OR TRUNCATE ON callers
    FOR EACH STATEMENT EXECUTE FUNCTION evenfare_refuse();
