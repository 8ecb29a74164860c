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
-- Data for Name: callers; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.callers VALUES (9, 'anna', 'office', 'token', '\x55579b557896d0ce1764c47fed644f9b35f58bad620674af23f356d80ed0c503');
INSERT INTO public.callers VALUES (10, 'nord-portal', 'partner:NORD', 'token', '\xe303f3241c79c061b1422a7bc297eef5be511e2655ad6658e63bfb9492bc4199');


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

INSERT INTO public.evenfare_versions VALUES (1, 1795623792283243);
INSERT INTO public.evenfare_versions VALUES (2, 1795623792346476);


--
-- Data for Name: events; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.events VALUES (1, 'issued', 1795623792372904, 'office-1', 'i-1', '\xdb4fa75f955ee31dd81db1891bb554687239f34607821d1bdf74b2df08d37a16', 'Q-2026-00001', 1, NULL, NULL, '', '\xbbc018e6f43497ffe8641a957ebc5677f98db3b812d5de36d406adaa18889f97', '\x0000000000000000000000000000000000000000000000000000000000000000', '\x7c1f1e54d0fe6960faad6fbd9451e08ae94f95d0d19f051c99bd6a821298b234');
INSERT INTO public.events VALUES (2, 'issued', 1795623792383237, 'office-1', 'i-2', '\xf3b4580640b2fa7863a64e8d0030e5a1d4d890af5b1e249dbc4e9e1153e9b92f', 'Q-2026-00002', 1, NULL, NULL, '', '\xaf75949aa31ab2d37cb74496d13cf2bfa4887040a2cf7496ec5186ee3ffec6e2', '\x7c1f1e54d0fe6960faad6fbd9451e08ae94f95d0d19f051c99bd6a821298b234', '\x0f5b21fd6ada34870e988929545013c02c6f6d3f3184ee5cf18a29088c7e657a');
INSERT INTO public.events VALUES (3, 'revised', 1795623792386771, 'office-1', 'r-1', '\x25b497b3ca4996d0fe1f0a259e202857027bbe89578e32e8f131b162262f9c57', 'Q-2026-00001', 2, NULL, NULL, 'one finding more', '\x9103c23b19960c2dd22aac5d52ca3a9794ddac1f0cf49d32e102f08a0505361b', '\x0f5b21fd6ada34870e988929545013c02c6f6d3f3184ee5cf18a29088c7e657a', '\xca509cc5e47bc92a630d5a890bdf92242444e53d12f592e5fa10de9b2fd0688c');
INSERT INTO public.events VALUES (4, 'accepted', 1795623792399326, 'office-1', 'a-1', '\xd376ed78a6eef2d01934cee3cba976fb2bdafb6bb8bba1ec1fe04df751031eee', 'Q-2026-00001', 2, 'main', '2026-07-09', '', NULL, '\xca509cc5e47bc92a630d5a890bdf92242444e53d12f592e5fa10de9b2fd0688c', '\xb6d6e780a4cab4eba4de9d99e70db09faa382cc661867ec344047b68bc9afed7');
INSERT INTO public.events VALUES (5, 'declined', 1795623792401766, 'office-1', 'd-1', '\x2c212915b75466ed2f8246a3489638d990ee2c9a500bac74fb8e1feb04975405', 'Q-2026-00002', 1, NULL, '2026-07-09', 'too dear', NULL, '\xb6d6e780a4cab4eba4de9d99e70db09faa382cc661867ec344047b68bc9afed7', '\x2dd328e19ef899839ca6d98910a9eb70f96910f731673508bfd23db7e8c983ff');
INSERT INTO public.events VALUES (6, 'reversed', 1795623792404197, 'office-1', 'v-1', '\x1f91445afed69a399c1ab888715e4c2dcc46fb2b8084975224df13982f1ad0da', 'Q-2026-00002', 1, NULL, NULL, 'wrong customer', '\x0f324c7349bf1eb7471043cf62ffa4cf6eba9b803102cd4113c1a0c81d8daa75', '\x2dd328e19ef899839ca6d98910a9eb70f96910f731673508bfd23db7e8c983ff', '\x82192c35a4144b7d16f7593b38305978b2b299bb1f9a0341d839ab3c39259bd7');
INSERT INTO public.events VALUES (7, 'published', 1795623792411057, 'office-1', 'p-1', '\x566e37060c32d0b339a88b1546d1c92814783015e04caf9b33af2062272bf79b', 'E1', NULL, NULL, NULL, '', '\x94a8eed30a4171106dad7428cb8dc9bb6efa27e810c22cbf3bae5fc68fe1ee31', '\x82192c35a4144b7d16f7593b38305978b2b299bb1f9a0341d839ab3c39259bd7', '\xbda01859d4307d7b4273d7b4e374a5ccc3c43fafc645735c70ab53051928c4d5');
INSERT INTO public.events VALUES (8, 'published', 1795623792415098, 'office-1', 'p-2', '\x6331972a32cd539fe2801ad4e636b18428d06861d14cb16c21b0ea0de2d2acd5', 'E2', NULL, NULL, NULL, '', '\x419c428048ac5c974e95bed81bcdaa0bed97706dec75305637ffe68c129d52c5', '\xbda01859d4307d7b4273d7b4e374a5ccc3c43fafc645735c70ab53051928c4d5', '\x1194242d715174a78e5c60293ef4ca464164d514d55a14a242cf94086ab62330');
INSERT INTO public.events VALUES (9, 'caller_added', 1795623792418930, 'office-1', 'anna', '\x1eb694c544614038a70b2fdd579ee5d2dfb17a01ce04f309b7e46e144d1ef57b', 'anna', NULL, NULL, NULL, '', '\x2ae46bf1666937ade9792ef86ae6b3cea23a6241fc005d41c0525b4f22bdc296', '\x1194242d715174a78e5c60293ef4ca464164d514d55a14a242cf94086ab62330', '\xbc01adf473db9883d63482f3aecd35934f550bec9fa61873cb27b553933184d7');
INSERT INTO public.events VALUES (10, 'caller_added', 1795623792426328, 'office-1', 'nord-portal', '\x1efe13b1ce7ca15de30117f028d85ffd53a7b6fb73be3e67b502ca1cb0ba74ec', 'nord-portal', NULL, NULL, NULL, '', '\xcab5854bcae4b3a2d9a74f69f484556d608d7b4d5a04752c978d48cf49ed7037', '\xbc01adf473db9883d63482f3aecd35934f550bec9fa61873cb27b553933184d7', '\x56aba8a4a2cd8c45ffade0b0877e2e37c0fbd82eb0ca275bd74ed64803d28e56');
INSERT INTO public.events VALUES (11, 'caller_withdrawn', 1795623792431261, 'office-1', 'w-1', '\x47a78d374047f3846b2395157e8ef99c1f0c10348d7a8ddcd1fb82fa07650b2b', 'anna', NULL, NULL, NULL, '', NULL, '\x56aba8a4a2cd8c45ffade0b0877e2e37c0fbd82eb0ca275bd74ed64803d28e56', '\x9a5d34894d44188327a611c4eb8138e6e931ff52065f79f219fdbd6178eb30ef');


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
-- Name: entries_by_issue; Type: INDEX; Schema: public; Owner: -
--

CREATE INDEX entries_by_issue ON public.entries USING btree (first, event);


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
-- PostgreSQL database dump complete
--


