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

INSERT INTO public.evenfare_versions VALUES (1, 1795626526059838);
INSERT INTO public.evenfare_versions VALUES (2, 1795626526166448);
INSERT INTO public.evenfare_versions VALUES (3, 1795626526199181);


--
-- Data for Name: events; Type: TABLE DATA; Schema: public; Owner: -
--

INSERT INTO public.events VALUES (1, 'issued', 1795626526240708, 'office-1', 'i-1', '\xdb4fa75f955ee31dd81db1891bb554687239f34607821d1bdf74b2df08d37a16', 'Q-2026-00001', 1, NULL, NULL, '', '\xbbc018e6f43497ffe8641a957ebc5677f98db3b812d5de36d406adaa18889f97', '\x0000000000000000000000000000000000000000000000000000000000000000', '\xe5f9247164f456c3ff2694683382f9834a0b373823ff5fb2508376fa3d183f10');
INSERT INTO public.events VALUES (2, 'issued', 1795626526249844, 'office-1', 'i-2', '\xf3b4580640b2fa7863a64e8d0030e5a1d4d890af5b1e249dbc4e9e1153e9b92f', 'Q-2026-00002', 1, NULL, NULL, '', '\xaf75949aa31ab2d37cb74496d13cf2bfa4887040a2cf7496ec5186ee3ffec6e2', '\xe5f9247164f456c3ff2694683382f9834a0b373823ff5fb2508376fa3d183f10', '\x21c9a65f266daad8a9f1ae39dee8fc4eda8321f081f36547b51d8fa59253dac8');
INSERT INTO public.events VALUES (3, 'revised', 1795626526307805, 'office-1', 'r-1', '\x2b630ce085d380b240a69037f3483f41727c50e8a00510e2a44b5017d3d2fc77', 'Q-2026-00001', 2, NULL, NULL, 'one finding more', '\x9103c23b19960c2dd22aac5d52ca3a9794ddac1f0cf49d32e102f08a0505361b', '\x21c9a65f266daad8a9f1ae39dee8fc4eda8321f081f36547b51d8fa59253dac8', '\x69629e5039b2c931df65b447a9a51a34bd87a24abf4c4b7a3e13b76710169929');
INSERT INTO public.events VALUES (4, 'accepted', 1795626526370379, 'office-1', 'a-1', '\x418acd9aea1f67bef3d1dca9bde55acd5cc04312eb0b42ed429be28f85121c7e', 'Q-2026-00001', 2, 'main', '2026-07-09', '', NULL, '\x69629e5039b2c931df65b447a9a51a34bd87a24abf4c4b7a3e13b76710169929', '\x67b82953098d4d66a4cd34e045153cea257021d62eca9fdf1f7b0a8a37d0b921');
INSERT INTO public.events VALUES (5, 'declined', 1795626526458391, 'office-1', 'd-1', '\x3ddd59ef28e53b7c67eb98dfb4053c6472d30813eac25408a7ce8c26b6f363aa', 'Q-2026-00002', 1, NULL, '2026-07-09', 'too dear', NULL, '\x67b82953098d4d66a4cd34e045153cea257021d62eca9fdf1f7b0a8a37d0b921', '\xf20fa3df7240f631eff0c606436461b05c5230fce491f397fa5976a43bc73060');
INSERT INTO public.events VALUES (6, 'reversed', 1795626526500513, 'office-1', 'v-1', '\x11d770f7357b1fcfac4a8c16a273267059e67a181ca5cd1037b9974683111514', 'Q-2026-00002', 1, NULL, NULL, 'wrong customer', '\x0f324c7349bf1eb7471043cf62ffa4cf6eba9b803102cd4113c1a0c81d8daa75', '\xf20fa3df7240f631eff0c606436461b05c5230fce491f397fa5976a43bc73060', '\x90c34423fbe9252e88939f80f3a81023cae82c00e7ae479f6d2937c1e11ca329');
INSERT INTO public.events VALUES (7, 'published', 1795626526550438, 'office-1', 'p-1', '\x566e37060c32d0b339a88b1546d1c92814783015e04caf9b33af2062272bf79b', 'E1', NULL, NULL, NULL, '', '\x94a8eed30a4171106dad7428cb8dc9bb6efa27e810c22cbf3bae5fc68fe1ee31', '\x90c34423fbe9252e88939f80f3a81023cae82c00e7ae479f6d2937c1e11ca329', '\x5c97308d87142b67bbfe9e10b8bd3ef98b451f1d4171be0dfe8881b486e3cb37');
INSERT INTO public.events VALUES (8, 'published', 1795626526622990, 'office-1', 'p-2', '\x6331972a32cd539fe2801ad4e636b18428d06861d14cb16c21b0ea0de2d2acd5', 'E2', NULL, NULL, NULL, '', '\x419c428048ac5c974e95bed81bcdaa0bed97706dec75305637ffe68c129d52c5', '\x5c97308d87142b67bbfe9e10b8bd3ef98b451f1d4171be0dfe8881b486e3cb37', '\x69f2dbf8c6909605b863a0586414a67835d9c66d79daa88f8448dac6b8fa0c79');
INSERT INTO public.events VALUES (9, 'invoiced', 1795626526704545, 'office-1', 'n-1', '\x3188310ea5414e44819f1d6ecb00a5b54c581bf8071b80e56654bd45519cc841', 'R-2026-00001', NULL, NULL, NULL, '', '\x88a78e70fade414879e475a8a470e59a2a2e3432ad4ca9c59596acf734307281', '\x69f2dbf8c6909605b863a0586414a67835d9c66d79daa88f8448dac6b8fa0c79', '\x7b50cbba07c8d6505b7d6728c84124ffac4ef4afb7fa7b1857293dd59520f00d');
INSERT INTO public.events VALUES (10, 'credited', 1795626526756452, 'office-1', 'n-2', '\x2a9926ed2e74fab6351b68f401e9dbed9c36c16c1d3a6ba5d596f7f586203cba', 'R-2026-00002', NULL, NULL, NULL, 'due too late', '\x67a129473c532c0b86107e93f0839a4d0dd28d9aaf8ceb9c58b29e8349e2fed5', '\x7b50cbba07c8d6505b7d6728c84124ffac4ef4afb7fa7b1857293dd59520f00d', '\x9562dc72f9b275607ba4eaa4bbd4478a2553182fb12e187194011cfb51126b77');
INSERT INTO public.events VALUES (11, 'invoiced', 1795626526782980, 'office-1', 'n-3', '\x7dde7ee3889ecfe39bae449db1bc764fbae649cb3cd61fdec6d37d1e3a612436', 'R-2026-00003', NULL, NULL, NULL, '', '\x0ed964376177c8debd68a402e363322b31d8973f0b4a6a64cf219b117cae8eb6', '\x9562dc72f9b275607ba4eaa4bbd4478a2553182fb12e187194011cfb51126b77', '\x8af9a7aed692b3deca39cd13542381ba6ea1550fd733b531244aae49c6660859');
INSERT INTO public.events VALUES (12, 'caller_added', 1795626526822416, 'office-1', 'anna', '\x1eb694c544614038a70b2fdd579ee5d2dfb17a01ce04f309b7e46e144d1ef57b', 'anna', NULL, NULL, NULL, '', '\x2ae46bf1666937ade9792ef86ae6b3cea23a6241fc005d41c0525b4f22bdc296', '\x8af9a7aed692b3deca39cd13542381ba6ea1550fd733b531244aae49c6660859', '\x1a4b6129069c20f210c9593675cf01efce6a4f6d8acaaa8e46d54e3d976ec8e5');
INSERT INTO public.events VALUES (13, 'caller_added', 1795626526918457, 'office-1', 'nord-portal', '\x1efe13b1ce7ca15de30117f028d85ffd53a7b6fb73be3e67b502ca1cb0ba74ec', 'nord-portal', NULL, NULL, NULL, '', '\xcab5854bcae4b3a2d9a74f69f484556d608d7b4d5a04752c978d48cf49ed7037', '\x1a4b6129069c20f210c9593675cf01efce6a4f6d8acaaa8e46d54e3d976ec8e5', '\x3b23d54035aa01390edc620d2a988fd15678a579640135b3672161a9aa7ab643');
INSERT INTO public.events VALUES (14, 'caller_withdrawn', 1795626526946986, 'office-1', 'w-1', '\x47a78d374047f3846b2395157e8ef99c1f0c10348d7a8ddcd1fb82fa07650b2b', 'anna', NULL, NULL, NULL, '', NULL, '\x3b23d54035aa01390edc620d2a988fd15678a579640135b3672161a9aa7ab643', '\xd4e5e400842bc8304f322423e759758168fcd67ae32230620148e853d66390f5');


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


