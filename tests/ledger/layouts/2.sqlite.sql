BEGIN TRANSACTION;
CREATE TABLE agreements (
	quote_number VARCHAR NOT NULL,
	quote_id INTEGER NOT NULL,
	agreed_at VARCHAR NOT NULL,
	delivered_at VARCHAR,
	counted_back_at VARCHAR,
	cancelled_at VARCHAR,
	PRIMARY KEY (quote_number),
	UNIQUE (quote_id),
	FOREIGN KEY(quote_id) REFERENCES quotes (quote_id)
);
INSERT INTO "agreements" VALUES('Q0001',5,'2026-11-26T16:33:26.589029+00:00','2026-11-26T16:33:26.608148+00:00','2026-11-26T16:33:26.739293+00:00',NULL);
INSERT INTO "agreements" VALUES('Q0002',6,'2026-11-26T16:33:26.907241+00:00',NULL,NULL,'2026-11-26T16:33:26.926600+00:00');
INSERT INTO "agreements" VALUES('Q0003',8,'2026-11-26T16:33:27.860002+00:00',NULL,NULL,NULL);
CREATE TABLE history (
        desk VARCHAR NOT NULL, sequence INTEGER NOT NULL, clock INTEGER NOT NULL, at VARCHAR NOT NULL,
        event VARCHAR NOT NULL, quote_number VARCHAR NOT NULL, revision INTEGER NOT NULL, line TEXT NOT NULL,
        PRIMARY KEY (desk, sequence)
    );
INSERT INTO "history" VALUES('',1,1,'2026-11-26T16:33:25.077766+00:00','issued','Q0001',1,'{"event": "issued", "quote_number": "Q0001", "revision": 1, "at": "2026-11-26T16:33:25.077766+00:00", "currency": "USD", "turnaround_days": 1}');
INSERT INTO "history" VALUES('',2,2,'2026-11-26T16:33:25.503959+00:00','issued','Q0002',1,'{"event": "issued", "quote_number": "Q0002", "revision": 1, "at": "2026-11-26T16:33:25.503959+00:00", "currency": "USD", "turnaround_days": 1}');
INSERT INTO "history" VALUES('',3,3,'2026-11-26T16:33:25.874122+00:00','issued','Q0003',1,'{"event": "issued", "quote_number": "Q0003", "revision": 1, "at": "2026-11-26T16:33:25.874122+00:00", "currency": "USD", "turnaround_days": 1}');
INSERT INTO "history" VALUES('',4,4,'2026-11-26T16:33:26.233067+00:00','issued','Q0004',1,'{"event": "issued", "quote_number": "Q0004", "revision": 1, "at": "2026-11-26T16:33:26.233067+00:00", "currency": "USD", "turnaround_days": 1}');
INSERT INTO "history" VALUES('',5,5,'2026-11-26T16:33:26.579536+00:00','returned','Q0001',1,'{"event": "returned", "quote_number": "Q0001", "revision": 1, "at": "2026-11-26T16:33:26.579536+00:00", "sha256": "ddb6fc4b7d3789949d5c580590e34752c441c40f71a36f2f9d4423bad621c093", "verdict": "agrees", "findings": 0}');
INSERT INTO "history" VALUES('',6,6,'2026-11-26T16:33:26.589029+00:00','agreed','Q0001',1,'{"event": "agreed", "quote_number": "Q0001", "revision": 1, "at": "2026-11-26T16:33:26.589029+00:00", "sha256": "ddb6fc4b7d3789949d5c580590e34752c441c40f71a36f2f9d4423bad621c093", "accepted": [], "currency": "USD", "turnaround_days": 1}');
INSERT INTO "history" VALUES('',7,7,'2026-11-26T16:33:26.608148+00:00','delivered','Q0001',1,'{"event": "delivered", "quote_number": "Q0001", "revision": 1, "at": "2026-11-26T16:33:26.608148+00:00"}');
INSERT INTO "history" VALUES('',8,8,'2026-11-26T16:33:26.739293+00:00','counted back','Q0001',1,'{"event": "counted back", "quote_number": "Q0001", "revision": 1, "at": "2026-11-26T16:33:26.739293+00:00", "losses": [["panels", "OAK-44", 1, 2]]}');
INSERT INTO "history" VALUES('',9,9,'2026-11-26T16:33:26.897674+00:00','returned','Q0002',1,'{"event": "returned", "quote_number": "Q0002", "revision": 1, "at": "2026-11-26T16:33:26.897674+00:00", "sha256": "d465fc606adc7726692683526340d0d32b30e0bdddc057ffa78c79e37a874bb7", "verdict": "agrees", "findings": 0}');
INSERT INTO "history" VALUES('',10,10,'2026-11-26T16:33:26.907241+00:00','agreed','Q0002',1,'{"event": "agreed", "quote_number": "Q0002", "revision": 1, "at": "2026-11-26T16:33:26.907241+00:00", "sha256": "d465fc606adc7726692683526340d0d32b30e0bdddc057ffa78c79e37a874bb7", "accepted": [], "currency": "USD", "turnaround_days": 1}');
INSERT INTO "history" VALUES('',11,11,'2026-11-26T16:33:26.926600+00:00','cancelled','Q0002',1,'{"event": "cancelled", "quote_number": "Q0002", "revision": 1, "at": "2026-11-26T16:33:26.926600+00:00"}');
INSERT INTO "history" VALUES('',12,12,'2026-11-26T16:33:27.315110+00:00','returned','Q0003',1,'{"event": "returned", "quote_number": "Q0003", "revision": 1, "at": "2026-11-26T16:33:27.315110+00:00", "sha256": "298be35bdd3e9973adce9584436f3639cd12776ce77efc7de4c5269663baaaa6", "verdict": "agrees", "findings": 0}');
INSERT INTO "history" VALUES('',13,13,'2026-11-26T16:33:27.519419+00:00','issued','Q0003',2,'{"event": "issued", "quote_number": "Q0003", "revision": 2, "at": "2026-11-26T16:33:27.519419+00:00", "currency": "USD", "turnaround_days": 1}');
INSERT INTO "history" VALUES('',14,14,'2026-11-26T16:33:27.845662+00:00','returned','Q0003',2,'{"event": "returned", "quote_number": "Q0003", "revision": 2, "at": "2026-11-26T16:33:27.845662+00:00", "sha256": "84b5b3f62c52563adb6dd8c46def35f22720b3bc28ac3f6a2fbf8e409f6d2678", "verdict": "agrees", "findings": 0}');
INSERT INTO "history" VALUES('',15,15,'2026-11-26T16:33:27.860002+00:00','agreed','Q0003',2,'{"event": "agreed", "quote_number": "Q0003", "revision": 2, "at": "2026-11-26T16:33:27.860002+00:00", "sha256": "84b5b3f62c52563adb6dd8c46def35f22720b3bc28ac3f6a2fbf8e409f6d2678", "accepted": [], "currency": "USD", "turnaround_days": 1}');
CREATE TABLE holds (
	quote_number VARCHAR NOT NULL,
	what VARCHAR NOT NULL,
	code VARCHAR NOT NULL,
	pieces INTEGER NOT NULL,
	held_from DATE NOT NULL,
	held_to DATE NOT NULL
);
INSERT INTO "holds" VALUES('Q0001','panels','OAK-44',20,'2027-06-11','2027-06-13');
INSERT INTO "holds" VALUES('Q0001','slot_pieces','OAK-44',9,'2027-06-11','2027-06-13');
INSERT INTO "holds" VALUES('Q0001','tongue_pieces','OAK-44',9,'2027-06-11','2027-06-13');
INSERT INTO "holds" VALUES('Q0001','corners','OAK-44',4,'2027-06-11','2027-06-13');
INSERT INTO "holds" VALUES('Q0001','carts','',2,'2027-06-11','2027-06-13');
INSERT INTO "holds" VALUES('Q0003','panels','OAK-44',4,'2027-06-11','2027-06-13');
INSERT INTO "holds" VALUES('Q0003','carts','',1,'2027-06-11','2027-06-13');
CREATE TABLE ledger_version (
	version INTEGER NOT NULL
);
INSERT INTO "ledger_version" VALUES(2);
CREATE TABLE lines (
	quote_id INTEGER NOT NULL,
	line INTEGER NOT NULL,
	panel VARCHAR NOT NULL,
	panels INTEGER NOT NULL,
	slot_pieces INTEGER NOT NULL,
	tongue_pieces INTEGER NOT NULL,
	corners INTEGER NOT NULL,
	sheets INTEGER NOT NULL,
	carts INTEGER NOT NULL,
	subfloor_kind VARCHAR NOT NULL,
	crew_minutes BIGINT NOT NULL,
	hire BIGINT NOT NULL,
	edging BIGINT NOT NULL,
	subfloor BIGINT NOT NULL,
	net_hire BIGINT NOT NULL,
	net_edging BIGINT NOT NULL,
	net_subfloor BIGINT NOT NULL,
	spread_delivery BIGINT NOT NULL,
	spread_labour BIGINT NOT NULL,
	spread_waiver BIGINT NOT NULL,
	spread_tax BIGINT NOT NULL,
	PRIMARY KEY (quote_id, line),
	FOREIGN KEY(quote_id) REFERENCES quotes (quote_id)
);
INSERT INTO "lines" VALUES(1,1,'OAK-44',20,9,9,4,0,2,'',120,69600,6010,0,69600,6010,0,7800,6720,0,6047);
INSERT INTO "lines" VALUES(2,1,'OAK-44',6,0,0,0,0,1,'',120,20880,0,0,20880,0,0,7800,6720,0,2079);
INSERT INTO "lines" VALUES(3,1,'OAK-44',4,0,0,0,0,1,'',120,13920,0,0,13920,0,0,7800,6720,0,1575);
INSERT INTO "lines" VALUES(4,1,'OAK-44',4,0,0,0,0,1,'',120,13920,0,0,13920,0,0,7800,6720,0,1575);
INSERT INTO "lines" VALUES(5,1,'OAK-44',20,9,9,4,0,2,'',120,69600,6010,0,69600,6010,0,7800,6720,0,6047);
INSERT INTO "lines" VALUES(6,1,'OAK-44',6,0,0,0,0,1,'',120,20880,0,0,20880,0,0,7800,6720,0,2079);
INSERT INTO "lines" VALUES(7,1,'OAK-44',4,0,0,0,0,1,'',120,13920,0,0,13920,0,0,7800,6720,0,1575);
INSERT INTO "lines" VALUES(8,1,'OAK-44',4,0,0,0,0,1,'',120,13920,0,0,13920,0,0,7800,6720,0,1575);
CREATE TABLE losses (
	quote_number VARCHAR NOT NULL,
	what VARCHAR NOT NULL,
	code VARCHAR NOT NULL,
	damaged INTEGER NOT NULL,
	lost INTEGER NOT NULL,
	gone_from DATE NOT NULL
);
INSERT INTO "losses" VALUES('Q0001','panels','OAK-44',1,2,'2027-06-14');
CREATE TABLE quotes (
	quote_id INTEGER NOT NULL,
	quote_number VARCHAR NOT NULL,
	revision INTEGER NOT NULL,
	sha256 VARCHAR NOT NULL,
	issued_on DATE NOT NULL,
	client TEXT NOT NULL,
	event TEXT NOT NULL,
	venue TEXT NOT NULL,
	event_date DATE NOT NULL,
	days INTEGER NOT NULL,
	held_from DATE NOT NULL,
	held_to DATE NOT NULL,
	currency VARCHAR NOT NULL,
	minor_units INTEGER NOT NULL,
	goods BIGINT NOT NULL,
	discount BIGINT NOT NULL,
	waiver BIGINT NOT NULL,
	delivery BIGINT NOT NULL,
	labour BIGINT NOT NULL,
	after_hours_charge BIGINT NOT NULL,
	taxable BIGINT NOT NULL,
	tax BIGINT NOT NULL,
	total BIGINT NOT NULL,
	deposit BIGINT NOT NULL,
	balance BIGINT NOT NULL,
	PRIMARY KEY (quote_id),
	UNIQUE (quote_number, revision, sha256)
);
INSERT INTO "quotes" VALUES(1,'Q0001',1,'','2026-11-26','Avelie Marsh','','','2027-06-12',1,'2027-06-11','2027-06-13','USD',2,75610,0,0,7800,6720,0,83410,6047,96177,33662,62515);
INSERT INTO "quotes" VALUES(2,'Q0002',1,'','2026-11-26','Corder Hall','','','2027-06-12',1,'2027-06-11','2027-06-13','USD',2,20880,0,0,7800,6720,0,28680,2079,37479,13118,24361);
INSERT INTO "quotes" VALUES(3,'Q0003',1,'','2026-11-26','Third','','','2027-06-12',1,'2027-06-11','2027-06-13','USD',2,13920,0,0,7800,6720,0,21720,1575,30015,10505,19510);
INSERT INTO "quotes" VALUES(4,'Q0004',1,'','2026-11-26','Fourth','','','2027-06-12',1,'2027-06-11','2027-06-13','USD',2,13920,0,0,7800,6720,0,21720,1575,30015,10505,19510);
INSERT INTO "quotes" VALUES(5,'Q0001',1,'ddb6fc4b7d3789949d5c580590e34752c441c40f71a36f2f9d4423bad621c093','2026-11-26','Avelie Marsh','','','2027-06-12',1,'2027-06-11','2027-06-13','USD',2,75610,0,0,7800,6720,0,83410,6047,96177,33662,62515);
INSERT INTO "quotes" VALUES(6,'Q0002',1,'d465fc606adc7726692683526340d0d32b30e0bdddc057ffa78c79e37a874bb7','2026-11-26','Corder Hall','','','2027-06-12',1,'2027-06-11','2027-06-13','USD',2,20880,0,0,7800,6720,0,28680,2079,37479,13118,24361);
INSERT INTO "quotes" VALUES(7,'Q0003',2,'','2026-11-26','Third','','','2027-06-12',1,'2027-06-11','2027-06-13','USD',2,13920,0,0,7800,6720,0,21720,1575,30015,10505,19510);
INSERT INTO "quotes" VALUES(8,'Q0003',2,'84b5b3f62c52563adb6dd8c46def35f22720b3bc28ac3f6a2fbf8e409f6d2678','2026-11-26','Third','','','2027-06-12',1,'2027-06-11','2027-06-13','USD',2,13920,0,0,7800,6720,0,21720,1575,30015,10505,19510);
CREATE INDEX quotes_by_date ON quotes (event_date);
CREATE TRIGGER quotes_kept_on_UPDATE BEFORE UPDATE ON quotes BEGIN SELECT RAISE(ABORT, 'the ledger keeps what was recorded'); END;
CREATE TRIGGER quotes_kept_on_DELETE BEFORE DELETE ON quotes BEGIN SELECT RAISE(ABORT, 'the ledger keeps what was recorded'); END;
CREATE TRIGGER lines_kept_on_UPDATE BEFORE UPDATE ON lines BEGIN SELECT RAISE(ABORT, 'the ledger keeps what was recorded'); END;
CREATE TRIGGER lines_kept_on_DELETE BEFORE DELETE ON lines BEGIN SELECT RAISE(ABORT, 'the ledger keeps what was recorded'); END;
CREATE INDEX history_by_quote ON history (quote_number);
CREATE INDEX history_by_clock ON history (clock);
CREATE TRIGGER history_kept_on_UPDATE BEFORE UPDATE ON history BEGIN SELECT RAISE(ABORT, 'the ledger keeps what was recorded'); END;
CREATE TRIGGER history_kept_on_DELETE BEFORE DELETE ON history BEGIN SELECT RAISE(ABORT, 'the ledger keeps what was recorded'); END;
CREATE INDEX holds_by_day ON holds (held_to, held_from);
CREATE INDEX holds_by_quote ON holds (quote_number);
CREATE INDEX losses_by_quote ON losses (quote_number);
COMMIT;
