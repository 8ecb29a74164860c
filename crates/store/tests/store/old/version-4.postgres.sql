--
-- PostgreSQL database dump
--


-- Dumped from database version 15.18 (Debian 15.18-0+deb12u1)
-- Dumped by pg_dump version 15.18 (Debian 15.18-0+deb12u1)

SET statement_timeout = 0;
SET lock_timeout = 0;
SET idle_in_transaction_session_timeout = 0;
SET client_encoding = 'UTF8';
SET standard_conforming_strings = on;
SELECT pg_catalog.set_config('search_path', '', false);
SET check_function_bodies = false;
SET xmloption = content;
SET client_min_messages = warning;
SET row_security = off;

--
-- Name: evenfare_refuse(); Type: FUNCTION; Schema: public; Owner: -
--

CREATE FUNCTION public.evenfare_refuse() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
BEGIN
    RAISE EXCEPTION 'rows of % are never changed or removed', TG_TABLE_NAME;
END
$$;


SET default_tablespace = '';

SET default_table_access_method = heap;

--
-- Name: callers; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.callers (
    event bigint NOT NULL,
    name text NOT NULL COLLATE pg_catalog."C",
    role text NOT NULL,
    kind text NOT NULL,
    credential bytea NOT NULL
);


--
-- Name: editions; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.editions (
    event bigint NOT NULL,
    code text NOT NULL COLLATE pg_catalog."C",
    begins date NOT NULL,
    ends date,
    currency text NOT NULL,
    archive bytea NOT NULL
);


--
-- Name: entries; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.entries (
    event bigint NOT NULL,
    first bigint NOT NULL,
    series text NOT NULL COLLATE pg_catalog."C",
    year bigint NOT NULL,
    sequence bigint NOT NULL,
    revision bigint NOT NULL,
    reversal boolean NOT NULL,
    reference text NOT NULL COLLATE pg_catalog."C",
    customer text NOT NULL,
    edition text NOT NULL,
    currency text NOT NULL,
    quoted date NOT NULL,
    valid_until date NOT NULL,
    end_net_minor bigint NOT NULL,
    offers text NOT NULL,
    document bytea NOT NULL,
    number text GENERATED ALWAYS AS (((((series || '-'::text) || lpad((year)::text, 4, '0'::text)) || '-'::text) || lpad((sequence)::text, GREATEST(5, length((sequence)::text)), '0'::text))) STORED NOT NULL COLLATE pg_catalog."C"
);
ALTER TABLE ONLY public.entries ALTER COLUMN document SET STORAGE EXTERNAL;


--
-- Name: entry_partners; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.entry_partners (
    event bigint NOT NULL,
    "position" bigint NOT NULL,
    partner text NOT NULL COLLATE pg_catalog."C",
    first bigint NOT NULL
);


--
-- Name: evenfare_versions; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.evenfare_versions (
    version bigint NOT NULL,
    applied bigint NOT NULL
);


--
-- Name: events; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.events (
    sequence bigint NOT NULL,
    kind text NOT NULL,
    recorded bigint NOT NULL,
    caller text NOT NULL COLLATE pg_catalog."C",
    request_id text NOT NULL COLLATE pg_catalog."C",
    fingerprint bytea NOT NULL,
    subject text NOT NULL COLLATE pg_catalog."C",
    revision bigint,
    offer text,
    settled date,
    reason text NOT NULL,
    content bytea,
    previous bytea NOT NULL,
    hash bytea NOT NULL
);


--
-- Name: invoices; Type: TABLE; Schema: public; Owner: -
--

CREATE TABLE public.invoices (
    event bigint NOT NULL,
    series text NOT NULL COLLATE pg_catalog."C",
    year bigint NOT NULL,
    sequence bigint NOT NULL,
    preceding bigint,
    entry bigint NOT NULL,
    offer text NOT NULL,
    partner text COLLATE pg_catalog."C",
    issued date NOT NULL,
    due date,
    currency text NOT NULL,
    net_minor bigint NOT NULL,
    gross_minor bigint NOT NULL,
    number text GENERATED ALWAYS AS (((((series || '-'::text) || lpad((year)::text, 4, '0'::text)) || '-'::text) || lpad((sequence)::text, GREATEST(5, length((sequence)::text)), '0'::text))) STORED NOT NULL COLLATE pg_catalog."C"
);


--
-- Data for Name: callers; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.callers VALUES (12, 'anna', 'office', 'token', '\x55579b557896d0ce1764c47fed644f9b35f58bad620674af23f356d80ed0c503');
INSERT INTO public.callers VALUES (13, 'nord-portal', 'partner:NORD', 'token', '\xe303f3241c79c061b1422a7bc297eef5be511e2655ad6658e63bfb9492bc4199');


--
-- Data for Name: editions; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.editions VALUES (7, 'E1', '2026-01-01', '2026-06-30', 'EUR', '\x010203');
INSERT INTO public.editions VALUES (8, 'E2', '2026-07-01', NULL, 'EUR', '\x010203');


--
-- Data for Name: entries; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.entries VALUES (1, 1, 'Q', 2026, 1, 1, false, 'JOB-1', 'Bäckerei am Markt, ''Süd''', '2026-07', 'EUR', '2026-07-01', '2026-07-31', 123456, 'main swap', '\x00010409101924314051647990a9c4e10526496e95bee91b4a7baee31f5893d0145598dd2972bd0f5eaf075cb3116cc92d8ef15bc2309b0d7ced65da56cf4fcc50d159de6af38315a43acd67039c3cd97d23c6701cc57527d68c44f9b57333f0b47a420cd3a1714317e8c09a76543416f5dbc3ad998777695d534b45413f3f41454b535d69778799adc3dbf5163454769ac0e8174371a1d30c427ab4f03373b5f9448cd62775c51c70c6237dd93c9c0367cd3aa41583f36ade59d150cc4fcf56da65ed7c0d9b30c25bf18e2dc96c11b35c07af5e0fbd7229dd985514d093581fe3ae7b4a1be9be956e492605e1c4a990796451403124191009040100010409101924314051647990a9c4e10526496e95bee91b4a7baee31f5893d0145598dd2972bd0f5eaf075cb3116cc92d', DEFAULT);
INSERT INTO public.entries VALUES (2, 2, 'Q', 2026, 2, 1, false, 'JOB-1', 'Bäckerei am Markt, ''Süd''', '2026-07', 'EUR', '2026-07-01', '2026-07-31', 123456, 'main swap', '\x00010409101924314051647990a9c4e10526496e95bee91b4a7baee31f5893d0145598dd2972bd0f5eaf075cb3116cc92d8ef15bc2309b0d7ced65da56cf4fcc50d159de6af38315a43acd67039c3cd97d23c6701cc57527d68c44f9b57333f0b47a420cd3a1714317e8c09a76543416f5dbc3ad998777695d534b45413f3f41454b535d69778799adc3dbf5163454769ac0e8174371a1d30c427ab4f03373b5f9448cd62775c51c70c6237dd93c9c0367cd3aa41583f36ade59d150cc4fcf56da65ed7c0d9b30c25bf18e2dc96c11b35c07af5e0fbd7229dd985514d093581fe3ae7b4a1be9be956e492605e1c4a990796451403124191009040100010409101924314051647990a9c4e10526496e95bee91b4a7baee31f5893d0145598dd2972bd0f5eaf075cb3116cc92d', DEFAULT);
INSERT INTO public.entries VALUES (3, 1, 'Q', 2026, 1, 2, false, 'JOB-1', 'Bäckerei am Markt, ''Süd''', '2026-07', 'EUR', '2026-07-01', '2026-07-31', 123456, 'main swap', '\x00010409101924314051647990a9c4e10526496e95bee91b4a7baee31f5893d0145598dd2972bd0f5eaf075cb3116cc92d8ef15bc2309b0d7ced65da56cf4fcc50d159de6af38315a43acd67039c3cd97d23c6701cc57527d68c44f9b57333f0b47a420cd3a1714317e8c09a76543416f5dbc3ad998777695d534b45413f3f41454b535d69778799adc3dbf5163454769ac0e8174371a1d30c427ab4f03373b5f9448cd62775c51c70c6237dd93c9c0367cd3aa41583f36ade59d150cc4fcf56da65ed7c0d9b30c25bf18e2dc96c11b35c07af5e0fbd7229dd985514d093581fe3ae7b4a1be9be956e492605e1c4a990796451403124191009040100010409101924314051647990a9c4e10526496e95bee91b4a7baee31f5893d0145598dd2972bd0f5eaf075cb3116cc92d', DEFAULT);
INSERT INTO public.entries VALUES (6, 2, 'Q', 2026, 2, 1, true, 'JOB-1', 'Bäckerei am Markt, ''Süd''', '2026-07', 'EUR', '2026-07-01', '2026-07-31', 123456, 'main swap', '\x00010409101924314051647990a9c4e10526496e95bee91b4a7baee31f5893d0145598dd2972bd0f5eaf075cb3116cc92d8ef15bc2309b0d7ced65da56cf4fcc50d159de6af38315a43acd67039c3cd97d23c6701cc57527d68c44f9b57333f0b47a420cd3a1714317e8c09a76543416f5dbc3ad998777695d534b45413f3f41454b535d69778799adc3dbf5163454769ac0e8174371a1d30c427ab4f03373b5f9448cd62775c51c70c6237dd93c9c0367cd3aa41583f36ade59d150cc4fcf56da65ed7c0d9b30c25bf18e2dc96c11b35c07af5e0fbd7229dd985514d093581fe3ae7b4a1be9be956e492605e1c4a990796451403124191009040100010409101924314051647990a9c4e10526496e95bee91b4a7baee31f5893d0145598dd2972bd0f5eaf075cb3116cc92d', DEFAULT);


--
-- Data for Name: entry_partners; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.entry_partners VALUES (1, 0, 'NORD', 1);
INSERT INTO public.entry_partners VALUES (1, 1, 'SUED', 1);
INSERT INTO public.entry_partners VALUES (2, 0, 'NORD', 2);
INSERT INTO public.entry_partners VALUES (3, 0, 'SUED', 1);
INSERT INTO public.entry_partners VALUES (6, 0, 'NORD', 2);


--
-- Data for Name: evenfare_versions; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.evenfare_versions VALUES (1, 1795696210036043);
INSERT INTO public.evenfare_versions VALUES (2, 1795696210102517);
INSERT INTO public.evenfare_versions VALUES (3, 1795696210129287);
INSERT INTO public.evenfare_versions VALUES (4, 1795696210166575);


--
-- Data for Name: events; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.events VALUES (1, 'issued', 1795696210180953, 'office-1', 'i-1', '\x255907a95980b26f3967908c26bb64b3dededf12985078982e6f0c94c3844fe8', 'Q-2026-00001', 1, NULL, NULL, '', '\xbbc018e6f43497ffe8641a957ebc5677f98db3b812d5de36d406adaa18889f97', '\x0000000000000000000000000000000000000000000000000000000000000000', '\xffd8a610cbafaf46977b3006e77f4fdeaf92bf79efa4bd43fc24522bd5a54d9b');
INSERT INTO public.events VALUES (2, 'issued', 1795696210190821, 'office-1', 'i-2', '\x4b1d8e7b9342230aa69f3bd37febd2c8c6397923f7d92edf645dd456d84e3751', 'Q-2026-00002', 1, NULL, NULL, '', '\xaf75949aa31ab2d37cb74496d13cf2bfa4887040a2cf7496ec5186ee3ffec6e2', '\xffd8a610cbafaf46977b3006e77f4fdeaf92bf79efa4bd43fc24522bd5a54d9b', '\x49be30ca88e493b2c83c402ddec16cf9f8333d36f04ae49605d227a3d2aae08a');
INSERT INTO public.events VALUES (3, 'revised', 1795696210194741, 'office-1', 'r-1', '\x652bdd00227f5fa87fee805d00f5e1fbf3b48a58522241f432fdbd99dce3d9d4', 'Q-2026-00001', 2, NULL, NULL, 'one finding more', '\x9103c23b19960c2dd22aac5d52ca3a9794ddac1f0cf49d32e102f08a0505361b', '\x49be30ca88e493b2c83c402ddec16cf9f8333d36f04ae49605d227a3d2aae08a', '\x7cbf157aca5bee782c9245e0787fcdf6ed31859b33631235c3dc933ca07dd53c');
INSERT INTO public.events VALUES (4, 'accepted', 1795696210199747, 'office-1', 'a-1', '\x4186189de213d52979cb197a288a930274997705f254ca7c895d5c26d6592dbc', 'Q-2026-00001', 2, 'main', '2026-07-09', '', NULL, '\x7cbf157aca5bee782c9245e0787fcdf6ed31859b33631235c3dc933ca07dd53c', '\x5afded6f922d3168213153b07c9306c2cf569a8134f3630f7a6e91ea9ad1876e');
INSERT INTO public.events VALUES (5, 'declined', 1795696210210889, 'office-1', 'd-1', '\x1684de25a5d76dad7bd5ac2dca2e9b3f7b80260e2d79e1ca90e6fe3802a6ca95', 'Q-2026-00002', 1, NULL, '2026-07-09', 'too dear', NULL, '\x5afded6f922d3168213153b07c9306c2cf569a8134f3630f7a6e91ea9ad1876e', '\x1b0fdd2d7a99ab3d8338029ae3b701fbf144c29d9a9095586f9ce0c3396722ef');
INSERT INTO public.events VALUES (6, 'reversed', 1795696210218870, 'office-1', 'v-1', '\xafaa56ebee7b385090f48e582257540c12c7ea8e4d2913633796df29a0b48cd6', 'Q-2026-00002', 1, NULL, NULL, 'wrong customer', '\x0f324c7349bf1eb7471043cf62ffa4cf6eba9b803102cd4113c1a0c81d8daa75', '\x1b0fdd2d7a99ab3d8338029ae3b701fbf144c29d9a9095586f9ce0c3396722ef', '\x48d08bdb2f9af39626271c0df58a1c57d43cf59bf9872a34c36f2f85a54bb051');
INSERT INTO public.events VALUES (7, 'published', 1795696210225604, 'office-1', 'p-1', '\x566e37060c32d0b339a88b1546d1c92814783015e04caf9b33af2062272bf79b', 'E1', NULL, NULL, NULL, '', '\x94a8eed30a4171106dad7428cb8dc9bb6efa27e810c22cbf3bae5fc68fe1ee31', '\x48d08bdb2f9af39626271c0df58a1c57d43cf59bf9872a34c36f2f85a54bb051', '\xfa4b5b97c32d110719c1e5711f43184bc68464c582d144996bf80f5e81e4e588');
INSERT INTO public.events VALUES (8, 'published', 1795696210231419, 'office-1', 'p-2', '\x6331972a32cd539fe2801ad4e636b18428d06861d14cb16c21b0ea0de2d2acd5', 'E2', NULL, NULL, NULL, '', '\x419c428048ac5c974e95bed81bcdaa0bed97706dec75305637ffe68c129d52c5', '\xfa4b5b97c32d110719c1e5711f43184bc68464c582d144996bf80f5e81e4e588', '\x02394fdfb92727e6329b67b992e9ee07d1b7d1793cbbb90b9e3b8c031f4c7bb5');
INSERT INTO public.events VALUES (9, 'invoiced', 1795696210273547, 'office-1', 'n-1', '\xd5af5bd551d834e555447da8c7735fbfeae97abcebe05aed43a5c7eef03bbd6c', 'R-2026-00001', NULL, NULL, NULL, '', '\x88a78e70fade414879e475a8a470e59a2a2e3432ad4ca9c59596acf734307281', '\x02394fdfb92727e6329b67b992e9ee07d1b7d1793cbbb90b9e3b8c031f4c7bb5', '\xa0fc68403c65f72fa0c22cb69e42d6d6383a6f3d57c8e5e3993d33a3f5e9934e');
INSERT INTO public.events VALUES (10, 'credited', 1795696210277347, 'office-1', 'n-2', '\x2a9926ed2e74fab6351b68f401e9dbed9c36c16c1d3a6ba5d596f7f586203cba', 'R-2026-00002', NULL, NULL, NULL, 'due too late', '\x67a129473c532c0b86107e93f0839a4d0dd28d9aaf8ceb9c58b29e8349e2fed5', '\xa0fc68403c65f72fa0c22cb69e42d6d6383a6f3d57c8e5e3993d33a3f5e9934e', '\xbdfcf3afe0a4f3a6379c5b3029167d0e91ae5eced0c3e7414132c3f5d131e078');
INSERT INTO public.events VALUES (11, 'invoiced', 1795696210282759, 'office-1', 'n-3', '\x26b1fb81444b1d136684027e877f57e327a2a7c32151c69496c6777ec5d7b914', 'R-2026-00003', NULL, NULL, NULL, '', '\x0ed964376177c8debd68a402e363322b31d8973f0b4a6a64cf219b117cae8eb6', '\xbdfcf3afe0a4f3a6379c5b3029167d0e91ae5eced0c3e7414132c3f5d131e078', '\xc04c6a4c237531ad58f0056847424bc37f56e276035a025ee120a84d52dac504');
INSERT INTO public.events VALUES (12, 'caller_added', 1795696210291064, 'office-1', 'anna', '\x1eb694c544614038a70b2fdd579ee5d2dfb17a01ce04f309b7e46e144d1ef57b', 'anna', NULL, NULL, NULL, '', '\x2ae46bf1666937ade9792ef86ae6b3cea23a6241fc005d41c0525b4f22bdc296', '\xc04c6a4c237531ad58f0056847424bc37f56e276035a025ee120a84d52dac504', '\xdb42f9c691ab0df53981121a334feba9e68308fc10a5a479d88a66a619c98e5e');
INSERT INTO public.events VALUES (13, 'caller_added', 1795696210299453, 'office-1', 'nord-portal', '\x1efe13b1ce7ca15de30117f028d85ffd53a7b6fb73be3e67b502ca1cb0ba74ec', 'nord-portal', NULL, NULL, NULL, '', '\xcab5854bcae4b3a2d9a74f69f484556d608d7b4d5a04752c978d48cf49ed7037', '\xdb42f9c691ab0df53981121a334feba9e68308fc10a5a479d88a66a619c98e5e', '\xf3f65a5970cf7890d4806a060435a513624ec215c2989592dc6478d09985f81a');
INSERT INTO public.events VALUES (14, 'caller_withdrawn', 1795696210307470, 'office-1', 'w-1', '\x47a78d374047f3846b2395157e8ef99c1f0c10348d7a8ddcd1fb82fa07650b2b', 'anna', NULL, NULL, NULL, '', NULL, '\xf3f65a5970cf7890d4806a060435a513624ec215c2989592dc6478d09985f81a', '\x0b6ff6b932c0f46a17877fb406c9479997601d1669fa9a9899e15ac1f5380bc5');


--
-- Data for Name: invoices; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.invoices VALUES (9, 'R', 2026, 1, NULL, 3, 'main', 'SUED', '2026-07-10', '2026-07-24', 'EUR', 10000, 11900, DEFAULT);
INSERT INTO public.invoices VALUES (10, 'R', 2026, 2, 9, 3, 'main', 'SUED', '2026-07-11', NULL, 'EUR', -10000, -11900, DEFAULT);
INSERT INTO public.invoices VALUES (11, 'R', 2026, 3, NULL, 3, 'main', 'SUED', '2026-07-11', '2026-07-25', 'EUR', 10000, 11900, DEFAULT);


--
-- Name: callers callers_credential_key; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.callers
    ADD CONSTRAINT callers_credential_key UNIQUE (credential);


--
-- Name: callers callers_name_key; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.callers
    ADD CONSTRAINT callers_name_key UNIQUE (name);


--
-- Name: callers callers_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.callers
    ADD CONSTRAINT callers_pkey PRIMARY KEY (event);


--
-- Name: editions editions_begins_key; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.editions
    ADD CONSTRAINT editions_begins_key UNIQUE (begins);


--
-- Name: editions editions_code_key; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.editions
    ADD CONSTRAINT editions_code_key UNIQUE (code);


--
-- Name: editions editions_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.editions
    ADD CONSTRAINT editions_pkey PRIMARY KEY (event);


--
-- Name: entries entries_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.entries
    ADD CONSTRAINT entries_pkey PRIMARY KEY (event);


--
-- Name: entries entries_series_year_sequence_revision_reversal_key; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.entries
    ADD CONSTRAINT entries_series_year_sequence_revision_reversal_key UNIQUE (series, year, sequence, revision, reversal);


--
-- Name: entry_partners entry_partners_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.entry_partners
    ADD CONSTRAINT entry_partners_pkey PRIMARY KEY (event, "position");


--
-- Name: evenfare_versions evenfare_versions_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.evenfare_versions
    ADD CONSTRAINT evenfare_versions_pkey PRIMARY KEY (version);


--
-- Name: events events_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.events
    ADD CONSTRAINT events_pkey PRIMARY KEY (sequence);


--
-- Name: events events_request_id_key; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.events
    ADD CONSTRAINT events_request_id_key UNIQUE (request_id);


--
-- Name: invoices invoices_pkey; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.invoices
    ADD CONSTRAINT invoices_pkey PRIMARY KEY (event);


--
-- Name: invoices invoices_preceding_key; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.invoices
    ADD CONSTRAINT invoices_preceding_key UNIQUE (preceding);


--
-- Name: invoices invoices_series_year_sequence_key; Type: CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.invoices
    ADD CONSTRAINT invoices_series_year_sequence_key UNIQUE (series, year, sequence);


--
-- Name: entries_by_reference; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX entries_by_reference ON public.entries USING btree (reference, first);


--
-- Name: entry_partners_by_partner; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX entry_partners_by_partner ON public.entry_partners USING btree (partner, first, event, "position");


--
-- Name: events_by_subject; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX events_by_subject ON public.events USING btree (subject, sequence) WHERE (kind <> 'issued'::text);


--
-- Name: events_of_settings; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX events_of_settings ON public.events USING btree (sequence) WHERE (kind = ANY (ARRAY['published'::text, 'caller_added'::text, 'caller_withdrawn'::text]));


--
-- Name: invoices_by_entry; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX invoices_by_entry ON public.invoices USING btree (entry);


--
-- Name: invoices_by_partner; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX invoices_by_partner ON public.invoices USING btree (partner, event) WHERE (partner IS NOT NULL);


--
-- Name: callers callers_stay; Type: TRIGGER; Schema: public; Owner: -
--

CREATE TRIGGER callers_stay BEFORE DELETE OR UPDATE OR TRUNCATE ON public.callers FOR EACH STATEMENT EXECUTE FUNCTION public.evenfare_refuse();


--
-- Name: editions editions_stay; Type: TRIGGER; Schema: public; Owner: -
--

CREATE TRIGGER editions_stay BEFORE DELETE OR UPDATE OR TRUNCATE ON public.editions FOR EACH STATEMENT EXECUTE FUNCTION public.evenfare_refuse();


--
-- Name: entries entries_stay; Type: TRIGGER; Schema: public; Owner: -
--

CREATE TRIGGER entries_stay BEFORE DELETE OR UPDATE OR TRUNCATE ON public.entries FOR EACH STATEMENT EXECUTE FUNCTION public.evenfare_refuse();


--
-- Name: entry_partners entry_partners_stay; Type: TRIGGER; Schema: public; Owner: -
--

CREATE TRIGGER entry_partners_stay BEFORE DELETE OR UPDATE OR TRUNCATE ON public.entry_partners FOR EACH STATEMENT EXECUTE FUNCTION public.evenfare_refuse();


--
-- Name: events events_stay; Type: TRIGGER; Schema: public; Owner: -
--

CREATE TRIGGER events_stay BEFORE DELETE OR UPDATE OR TRUNCATE ON public.events FOR EACH STATEMENT EXECUTE FUNCTION public.evenfare_refuse();


--
-- Name: invoices invoices_stay; Type: TRIGGER; Schema: public; Owner: -
--

CREATE TRIGGER invoices_stay BEFORE DELETE OR UPDATE OR TRUNCATE ON public.invoices FOR EACH STATEMENT EXECUTE FUNCTION public.evenfare_refuse();


--
-- Name: callers callers_event_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.callers
    ADD CONSTRAINT callers_event_fkey FOREIGN KEY (event) REFERENCES public.events(sequence);


--
-- Name: editions editions_event_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.editions
    ADD CONSTRAINT editions_event_fkey FOREIGN KEY (event) REFERENCES public.events(sequence);


--
-- Name: entries entries_event_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.entries
    ADD CONSTRAINT entries_event_fkey FOREIGN KEY (event) REFERENCES public.events(sequence);


--
-- Name: entries entries_first_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.entries
    ADD CONSTRAINT entries_first_fkey FOREIGN KEY (first) REFERENCES public.events(sequence);


--
-- Name: entry_partners entry_partners_event_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.entry_partners
    ADD CONSTRAINT entry_partners_event_fkey FOREIGN KEY (event) REFERENCES public.entries(event);


--
-- Name: invoices invoices_entry_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.invoices
    ADD CONSTRAINT invoices_entry_fkey FOREIGN KEY (entry) REFERENCES public.entries(event);


--
-- Name: invoices invoices_event_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.invoices
    ADD CONSTRAINT invoices_event_fkey FOREIGN KEY (event) REFERENCES public.events(sequence);


--
-- Name: invoices invoices_preceding_fkey; Type: FK CONSTRAINT; Schema: public; Owner: -
--

ALTER TABLE ONLY public.invoices
    ADD CONSTRAINT invoices_preceding_fkey FOREIGN KEY (preceding) REFERENCES public.invoices(event);


--
-- PostgreSQL database dump complete
--


