CREATE FUNCTION quotebook_keep() RETURNS trigger
    LANGUAGE plpgsql
    AS $$ BEGIN RAISE EXCEPTION 'the ledger keeps what was recorded'; END $$;
CREATE TABLE agreements (
    quote_number character varying NOT NULL,
    quote_id integer NOT NULL,
    agreed_at character varying NOT NULL,
    delivered_at character varying,
    counted_back_at character varying,
    cancelled_at character varying
);
CREATE TABLE history (
    desk character varying NOT NULL,
    sequence integer NOT NULL,
    clock integer NOT NULL,
    at character varying NOT NULL,
    event character varying NOT NULL,
    quote_number character varying NOT NULL,
    revision integer NOT NULL,
    line text NOT NULL
);
CREATE TABLE holds (
    quote_number character varying NOT NULL,
    what character varying NOT NULL,
    code character varying NOT NULL,
    pieces integer NOT NULL,
    held_from date NOT NULL,
    held_to date NOT NULL
);
CREATE TABLE ledger_version (
    version integer NOT NULL
);
CREATE TABLE lines (
    quote_id integer NOT NULL,
    line integer NOT NULL,
    panel character varying NOT NULL,
    panels integer NOT NULL,
    slot_pieces integer NOT NULL,
    tongue_pieces integer NOT NULL,
    corners integer NOT NULL,
    sheets integer NOT NULL,
    carts integer NOT NULL,
    subfloor_kind character varying NOT NULL,
    crew_minutes bigint NOT NULL,
    hire bigint NOT NULL,
    edging bigint NOT NULL,
    subfloor bigint NOT NULL,
    net_hire bigint NOT NULL,
    net_edging bigint NOT NULL,
    net_subfloor bigint NOT NULL,
    spread_delivery bigint NOT NULL,
    spread_labour bigint NOT NULL,
    spread_waiver bigint NOT NULL,
    spread_tax bigint NOT NULL
);
CREATE TABLE losses (
    quote_number character varying NOT NULL,
    what character varying NOT NULL,
    code character varying NOT NULL,
    damaged integer NOT NULL,
    lost integer NOT NULL,
    gone_from date NOT NULL
);
CREATE TABLE quotes (
    quote_id integer NOT NULL,
    quote_number character varying NOT NULL,
    revision integer NOT NULL,
    sha256 character varying NOT NULL,
    issued_on date NOT NULL,
    client text NOT NULL,
    event text NOT NULL,
    venue text NOT NULL,
    event_date date NOT NULL,
    days integer NOT NULL,
    held_from date NOT NULL,
    held_to date NOT NULL,
    currency character varying NOT NULL,
    minor_units integer NOT NULL,
    goods bigint NOT NULL,
    discount bigint NOT NULL,
    waiver bigint NOT NULL,
    delivery bigint NOT NULL,
    labour bigint NOT NULL,
    after_hours_charge bigint NOT NULL,
    taxable bigint NOT NULL,
    tax bigint NOT NULL,
    total bigint NOT NULL,
    deposit bigint NOT NULL,
    balance bigint NOT NULL
);
CREATE SEQUENCE quotes_quote_id_seq
    AS integer
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1;
ALTER SEQUENCE quotes_quote_id_seq OWNED BY quotes.quote_id;
ALTER TABLE ONLY quotes ALTER COLUMN quote_id SET DEFAULT nextval('quotes_quote_id_seq'::regclass);
INSERT INTO agreements VALUES ('Q0001', 5, '2026-11-26T16:33:26.589029+00:00', '2026-11-26T16:33:26.608148+00:00', '2026-11-26T16:33:26.739293+00:00', NULL);
INSERT INTO agreements VALUES ('Q0002', 6, '2026-11-26T16:33:26.907241+00:00', NULL, NULL, '2026-11-26T16:33:26.926600+00:00');
INSERT INTO agreements VALUES ('Q0003', 8, '2026-11-26T16:33:27.860002+00:00', NULL, NULL, NULL);
INSERT INTO history VALUES ('', 1, 1, '2026-11-26T16:33:25.077766+00:00', 'issued', 'Q0001', 1, '{"event": "issued", "quote_number": "Q0001", "revision": 1, "at": "2026-11-26T16:33:25.077766+00:00", "currency": "USD", "turnaround_days": 1}');
INSERT INTO history VALUES ('', 2, 2, '2026-11-26T16:33:25.503959+00:00', 'issued', 'Q0002', 1, '{"event": "issued", "quote_number": "Q0002", "revision": 1, "at": "2026-11-26T16:33:25.503959+00:00", "currency": "USD", "turnaround_days": 1}');
INSERT INTO history VALUES ('', 3, 3, '2026-11-26T16:33:25.874122+00:00', 'issued', 'Q0003', 1, '{"event": "issued", "quote_number": "Q0003", "revision": 1, "at": "2026-11-26T16:33:25.874122+00:00", "currency": "USD", "turnaround_days": 1}');
INSERT INTO history VALUES ('', 4, 4, '2026-11-26T16:33:26.233067+00:00', 'issued', 'Q0004', 1, '{"event": "issued", "quote_number": "Q0004", "revision": 1, "at": "2026-11-26T16:33:26.233067+00:00", "currency": "USD", "turnaround_days": 1}');
INSERT INTO history VALUES ('', 5, 5, '2026-11-26T16:33:26.579536+00:00', 'returned', 'Q0001', 1, '{"event": "returned", "quote_number": "Q0001", "revision": 1, "at": "2026-11-26T16:33:26.579536+00:00", "sha256": "ddb6fc4b7d3789949d5c580590e34752c441c40f71a36f2f9d4423bad621c093", "verdict": "agrees", "findings": 0}');
INSERT INTO history VALUES ('', 6, 6, '2026-11-26T16:33:26.589029+00:00', 'agreed', 'Q0001', 1, '{"event": "agreed", "quote_number": "Q0001", "revision": 1, "at": "2026-11-26T16:33:26.589029+00:00", "sha256": "ddb6fc4b7d3789949d5c580590e34752c441c40f71a36f2f9d4423bad621c093", "accepted": [], "currency": "USD", "turnaround_days": 1}');
INSERT INTO history VALUES ('', 7, 7, '2026-11-26T16:33:26.608148+00:00', 'delivered', 'Q0001', 1, '{"event": "delivered", "quote_number": "Q0001", "revision": 1, "at": "2026-11-26T16:33:26.608148+00:00"}');
INSERT INTO history VALUES ('', 8, 8, '2026-11-26T16:33:26.739293+00:00', 'counted back', 'Q0001', 1, '{"event": "counted back", "quote_number": "Q0001", "revision": 1, "at": "2026-11-26T16:33:26.739293+00:00", "losses": [["panels", "OAK-44", 1, 2]]}');
INSERT INTO history VALUES ('', 9, 9, '2026-11-26T16:33:26.897674+00:00', 'returned', 'Q0002', 1, '{"event": "returned", "quote_number": "Q0002", "revision": 1, "at": "2026-11-26T16:33:26.897674+00:00", "sha256": "d465fc606adc7726692683526340d0d32b30e0bdddc057ffa78c79e37a874bb7", "verdict": "agrees", "findings": 0}');
INSERT INTO history VALUES ('', 10, 10, '2026-11-26T16:33:26.907241+00:00', 'agreed', 'Q0002', 1, '{"event": "agreed", "quote_number": "Q0002", "revision": 1, "at": "2026-11-26T16:33:26.907241+00:00", "sha256": "d465fc606adc7726692683526340d0d32b30e0bdddc057ffa78c79e37a874bb7", "accepted": [], "currency": "USD", "turnaround_days": 1}');
INSERT INTO history VALUES ('', 11, 11, '2026-11-26T16:33:26.926600+00:00', 'cancelled', 'Q0002', 1, '{"event": "cancelled", "quote_number": "Q0002", "revision": 1, "at": "2026-11-26T16:33:26.926600+00:00"}');
INSERT INTO history VALUES ('', 12, 12, '2026-11-26T16:33:27.315110+00:00', 'returned', 'Q0003', 1, '{"event": "returned", "quote_number": "Q0003", "revision": 1, "at": "2026-11-26T16:33:27.315110+00:00", "sha256": "298be35bdd3e9973adce9584436f3639cd12776ce77efc7de4c5269663baaaa6", "verdict": "agrees", "findings": 0}');
INSERT INTO history VALUES ('', 13, 13, '2026-11-26T16:33:27.519419+00:00', 'issued', 'Q0003', 2, '{"event": "issued", "quote_number": "Q0003", "revision": 2, "at": "2026-11-26T16:33:27.519419+00:00", "currency": "USD", "turnaround_days": 1}');
INSERT INTO history VALUES ('', 14, 14, '2026-11-26T16:33:27.845662+00:00', 'returned', 'Q0003', 2, '{"event": "returned", "quote_number": "Q0003", "revision": 2, "at": "2026-11-26T16:33:27.845662+00:00", "sha256": "84b5b3f62c52563adb6dd8c46def35f22720b3bc28ac3f6a2fbf8e409f6d2678", "verdict": "agrees", "findings": 0}');
INSERT INTO history VALUES ('', 15, 15, '2026-11-26T16:33:27.860002+00:00', 'agreed', 'Q0003', 2, '{"event": "agreed", "quote_number": "Q0003", "revision": 2, "at": "2026-11-26T16:33:27.860002+00:00", "sha256": "84b5b3f62c52563adb6dd8c46def35f22720b3bc28ac3f6a2fbf8e409f6d2678", "accepted": [], "currency": "USD", "turnaround_days": 1}');
INSERT INTO holds VALUES ('Q0001', 'panels', 'OAK-44', 20, '2027-06-11', '2027-06-13');
INSERT INTO holds VALUES ('Q0001', 'slot_pieces', 'OAK-44', 9, '2027-06-11', '2027-06-13');
INSERT INTO holds VALUES ('Q0001', 'tongue_pieces', 'OAK-44', 9, '2027-06-11', '2027-06-13');
INSERT INTO holds VALUES ('Q0001', 'corners', 'OAK-44', 4, '2027-06-11', '2027-06-13');
INSERT INTO holds VALUES ('Q0001', 'carts', '', 2, '2027-06-11', '2027-06-13');
INSERT INTO holds VALUES ('Q0003', 'panels', 'OAK-44', 4, '2027-06-11', '2027-06-13');
INSERT INTO holds VALUES ('Q0003', 'carts', '', 1, '2027-06-11', '2027-06-13');
INSERT INTO ledger_version VALUES (2);
INSERT INTO lines VALUES (1, 1, 'OAK-44', 20, 9, 9, 4, 0, 2, '', 120, 69600, 6010, 0, 69600, 6010, 0, 7800, 6720, 0, 6047);
INSERT INTO lines VALUES (2, 1, 'OAK-44', 6, 0, 0, 0, 0, 1, '', 120, 20880, 0, 0, 20880, 0, 0, 7800, 6720, 0, 2079);
INSERT INTO lines VALUES (3, 1, 'OAK-44', 4, 0, 0, 0, 0, 1, '', 120, 13920, 0, 0, 13920, 0, 0, 7800, 6720, 0, 1575);
INSERT INTO lines VALUES (4, 1, 'OAK-44', 4, 0, 0, 0, 0, 1, '', 120, 13920, 0, 0, 13920, 0, 0, 7800, 6720, 0, 1575);
INSERT INTO lines VALUES (5, 1, 'OAK-44', 20, 9, 9, 4, 0, 2, '', 120, 69600, 6010, 0, 69600, 6010, 0, 7800, 6720, 0, 6047);
INSERT INTO lines VALUES (6, 1, 'OAK-44', 6, 0, 0, 0, 0, 1, '', 120, 20880, 0, 0, 20880, 0, 0, 7800, 6720, 0, 2079);
INSERT INTO lines VALUES (7, 1, 'OAK-44', 4, 0, 0, 0, 0, 1, '', 120, 13920, 0, 0, 13920, 0, 0, 7800, 6720, 0, 1575);
INSERT INTO lines VALUES (8, 1, 'OAK-44', 4, 0, 0, 0, 0, 1, '', 120, 13920, 0, 0, 13920, 0, 0, 7800, 6720, 0, 1575);
INSERT INTO losses VALUES ('Q0001', 'panels', 'OAK-44', 1, 2, '2027-06-14');
INSERT INTO quotes VALUES (1, 'Q0001', 1, '', '2026-11-26', 'Avelie Marsh', '', '', '2027-06-12', 1, '2027-06-11', '2027-06-13', 'USD', 2, 75610, 0, 0, 7800, 6720, 0, 83410, 6047, 96177, 33662, 62515);
INSERT INTO quotes VALUES (2, 'Q0002', 1, '', '2026-11-26', 'Corder Hall', '', '', '2027-06-12', 1, '2027-06-11', '2027-06-13', 'USD', 2, 20880, 0, 0, 7800, 6720, 0, 28680, 2079, 37479, 13118, 24361);
INSERT INTO quotes VALUES (3, 'Q0003', 1, '', '2026-11-26', 'Third', '', '', '2027-06-12', 1, '2027-06-11', '2027-06-13', 'USD', 2, 13920, 0, 0, 7800, 6720, 0, 21720, 1575, 30015, 10505, 19510);
INSERT INTO quotes VALUES (4, 'Q0004', 1, '', '2026-11-26', 'Fourth', '', '', '2027-06-12', 1, '2027-06-11', '2027-06-13', 'USD', 2, 13920, 0, 0, 7800, 6720, 0, 21720, 1575, 30015, 10505, 19510);
INSERT INTO quotes VALUES (5, 'Q0001', 1, 'ddb6fc4b7d3789949d5c580590e34752c441c40f71a36f2f9d4423bad621c093', '2026-11-26', 'Avelie Marsh', '', '', '2027-06-12', 1, '2027-06-11', '2027-06-13', 'USD', 2, 75610, 0, 0, 7800, 6720, 0, 83410, 6047, 96177, 33662, 62515);
INSERT INTO quotes VALUES (6, 'Q0002', 1, 'd465fc606adc7726692683526340d0d32b30e0bdddc057ffa78c79e37a874bb7', '2026-11-26', 'Corder Hall', '', '', '2027-06-12', 1, '2027-06-11', '2027-06-13', 'USD', 2, 20880, 0, 0, 7800, 6720, 0, 28680, 2079, 37479, 13118, 24361);
INSERT INTO quotes VALUES (7, 'Q0003', 2, '', '2026-11-26', 'Third', '', '', '2027-06-12', 1, '2027-06-11', '2027-06-13', 'USD', 2, 13920, 0, 0, 7800, 6720, 0, 21720, 1575, 30015, 10505, 19510);
INSERT INTO quotes VALUES (8, 'Q0003', 2, '84b5b3f62c52563adb6dd8c46def35f22720b3bc28ac3f6a2fbf8e409f6d2678', '2026-11-26', 'Third', '', '', '2027-06-12', 1, '2027-06-11', '2027-06-13', 'USD', 2, 13920, 0, 0, 7800, 6720, 0, 21720, 1575, 30015, 10505, 19510);
ALTER TABLE ONLY agreements
    ADD CONSTRAINT agreements_pkey PRIMARY KEY (quote_number);
ALTER TABLE ONLY agreements
    ADD CONSTRAINT agreements_quote_id_key UNIQUE (quote_id);
ALTER TABLE ONLY history
    ADD CONSTRAINT history_pkey PRIMARY KEY (desk, sequence);
ALTER TABLE ONLY lines
    ADD CONSTRAINT lines_pkey PRIMARY KEY (quote_id, line);
ALTER TABLE ONLY quotes
    ADD CONSTRAINT quotes_pkey PRIMARY KEY (quote_id);
ALTER TABLE ONLY quotes
    ADD CONSTRAINT quotes_quote_number_revision_sha256_key UNIQUE (quote_number, revision, sha256);
CREATE INDEX history_by_clock ON history USING btree (clock);
CREATE INDEX history_by_quote ON history USING btree (quote_number);
CREATE INDEX holds_by_day ON holds USING btree (held_to, held_from);
CREATE INDEX holds_by_quote ON holds USING btree (quote_number);
CREATE INDEX losses_by_quote ON losses USING btree (quote_number);
CREATE INDEX quotes_by_date ON quotes USING btree (event_date);
CREATE TRIGGER history_kept BEFORE DELETE OR UPDATE OR TRUNCATE ON history FOR EACH STATEMENT EXECUTE FUNCTION quotebook_keep();
CREATE TRIGGER lines_kept BEFORE DELETE OR UPDATE OR TRUNCATE ON lines FOR EACH STATEMENT EXECUTE FUNCTION quotebook_keep();
CREATE TRIGGER quotes_kept BEFORE DELETE OR UPDATE OR TRUNCATE ON quotes FOR EACH STATEMENT EXECUTE FUNCTION quotebook_keep();
ALTER TABLE ONLY agreements
    ADD CONSTRAINT agreements_quote_id_fkey FOREIGN KEY (quote_id) REFERENCES quotes(quote_id);
ALTER TABLE ONLY lines
    ADD CONSTRAINT lines_quote_id_fkey FOREIGN KEY (quote_id) REFERENCES quotes(quote_id);
