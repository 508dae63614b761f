-- BIGINT, INTEGER and TEXT only, so that SQLite and PostgreSQL take the same.
-- Times are milliseconds since 1970 in UTC, NULL or 0 for none; days are text.

-- +goose Up

-- One row. Every change begins by raising version, which also puts changes of
-- several programs in a line; ids is the last id given to anything.
CREATE TABLE state (
	one        INTEGER PRIMARY KEY,
	version    BIGINT NOT NULL,
	ids        BIGINT NOT NULL,
	audited    BIGINT NOT NULL,
	audit_hash TEXT   NOT NULL
);
INSERT INTO state VALUES (1, 0, 0, 0, '');

CREATE TABLE staff (
	id       BIGINT  PRIMARY KEY,
	name     TEXT    NOT NULL,
	folded   TEXT    NOT NULL UNIQUE,
	role     TEXT    NOT NULL,
	password TEXT    NOT NULL,
	disabled INTEGER NOT NULL,
	created  BIGINT  NOT NULL
);

CREATE TABLE login (
	hash    TEXT   PRIMARY KEY,
	staff   BIGINT NOT NULL REFERENCES staff,
	created BIGINT NOT NULL,
	seen    BIGINT NOT NULL
);

CREATE TABLE patient (
	id        BIGINT  PRIMARY KEY,
	tag       TEXT    NOT NULL UNIQUE,
	name      TEXT    NOT NULL,
	record    TEXT    NOT NULL,
	left_day  TEXT    NOT NULL,
	kept      INTEGER NOT NULL,
	forgotten BIGINT,
	version   BIGINT  NOT NULL
);

CREATE TABLE screening (
	id      BIGINT PRIMARY KEY,
	patient BIGINT NOT NULL REFERENCES patient,
	day     TEXT   NOT NULL,
	today   TEXT   NOT NULL,
	result  TEXT   NOT NULL,
	by_name TEXT   NOT NULL,
	at      BIGINT NOT NULL
);
CREATE INDEX screening_patient ON screening (patient, at);

CREATE TABLE prescription (
	id          BIGINT  PRIMARY KEY,
	patient     BIGINT  NOT NULL REFERENCES patient,
	version     BIGINT  NOT NULL,
	text        TEXT    NOT NULL,
	fingerprint TEXT    NOT NULL,
	written     TEXT    NOT NULL,
	written_at  BIGINT  NOT NULL,
	approved    TEXT    NOT NULL,
	approved_at BIGINT  NOT NULL,
	withdrawn   INTEGER NOT NULL,
	UNIQUE (patient, version)
);

CREATE TABLE decision (
	id       BIGINT  PRIMARY KEY,
	patient  BIGINT  NOT NULL REFERENCES patient,
	exercise TEXT    NOT NULL,
	session  TEXT    NOT NULL,
	proposal TEXT    NOT NULL,
	answer   TEXT    NOT NULL,
	dose     TEXT    NOT NULL,
	reason   TEXT    NOT NULL,
	by_name  TEXT    NOT NULL,
	at       BIGINT  NOT NULL,
	undone   INTEGER NOT NULL,
	used     BIGINT  NOT NULL
);
CREATE INDEX decision_patient ON decision (patient, at);

CREATE TABLE station (
	id       BIGINT PRIMARY KEY,
	name     TEXT   NOT NULL,
	folded   TEXT   NOT NULL UNIQUE,
	place    TEXT   NOT NULL,
	key      TEXT   NOT NULL,
	secret   TEXT   NOT NULL,
	codes    BIGINT NOT NULL,
	enrolled BIGINT,
	revoked  BIGINT,
	seen     BIGINT,
	status   TEXT   NOT NULL
);
CREATE UNIQUE INDEX station_key ON station (key) WHERE key <> '';

CREATE TABLE enrolment_code (
	id      BIGINT  PRIMARY KEY,
	station BIGINT  NOT NULL REFERENCES station,
	code    TEXT    NOT NULL,
	expires BIGINT  NOT NULL,
	tries   INTEGER NOT NULL,
	used    INTEGER NOT NULL
);

CREATE TABLE station_plan (
	id           BIGINT PRIMARY KEY,
	station      BIGINT NOT NULL REFERENCES station,
	version      BIGINT NOT NULL,
	day          TEXT   NOT NULL,
	until        TEXT   NOT NULL,
	tags         TEXT   NOT NULL,
	text         TEXT   NOT NULL,
	fingerprint  TEXT   NOT NULL,
	sent         TEXT   NOT NULL,
	sent_at      BIGINT NOT NULL,
	delivered_at BIGINT,
	taken_at     BIGINT,
	refused      TEXT   NOT NULL,
	UNIQUE (station, version)
);
CREATE INDEX station_plan_until ON station_plan (until);

-- Logs. epoch.id stands for station and epoch in the rows below.
CREATE TABLE epoch (
	id             BIGINT PRIMARY KEY,
	station        BIGINT NOT NULL REFERENCES station,
	epoch          TEXT   NOT NULL,
	boot           TEXT   NOT NULL,
	mark           BIGINT NOT NULL,
	hash           TEXT   NOT NULL,
	previous_epoch TEXT   NOT NULL,
	previous_seq   BIGINT NOT NULL,
	previous_hash  TEXT   NOT NULL,
	first_at       BIGINT NOT NULL,
	last_at        BIGINT NOT NULL,
	moved          BIGINT NOT NULL,
	undated        BIGINT NOT NULL,
	UNIQUE (station, epoch)
);
CREATE INDEX epoch_moved ON epoch (moved);
CREATE INDEX epoch_previous ON epoch (station, previous_epoch);
CREATE INDEX epoch_undated ON epoch (station, boot) WHERE undated > 0;

-- at is where the entry stands in the order of time; dated says whether that
-- is its own wall time (1), derived from a contact (2), or only when it was
-- received, since nobody can tell (0). An empty line was deleted: its hash
-- stays, so that the chain can be followed across it.
CREATE TABLE entry (
	epoch     BIGINT  NOT NULL REFERENCES epoch,
	seq       BIGINT  NOT NULL,
	line      TEXT    NOT NULL,
	hash      TEXT    NOT NULL,
	session   TEXT    NOT NULL,
	tag       TEXT    NOT NULL,
	kind      TEXT    NOT NULL,
	mono      BIGINT  NOT NULL,
	at        BIGINT  NOT NULL,
	within_ms BIGINT  NOT NULL,
	dated     INTEGER NOT NULL,
	received  BIGINT  NOT NULL,
	carried   INTEGER NOT NULL,
	PRIMARY KEY (epoch, seq)
);
CREATE INDEX entry_tag ON entry (tag, at) WHERE tag <> '';

-- What the log has of each session, kept up with every batch.
CREATE TABLE session (
	epoch     BIGINT  NOT NULL REFERENCES epoch,
	session   TEXT    NOT NULL,
	tag       TEXT    NOT NULL,
	first_seq BIGINT  NOT NULL,
	last_seq  BIGINT  NOT NULL,
	entries   BIGINT  NOT NULL,
	begun     BIGINT  NOT NULL,
	newest    BIGINT  NOT NULL,
	within_ms BIGINT  NOT NULL,
	dated     INTEGER NOT NULL,
	part      TEXT    NOT NULL,
	plan      TEXT    NOT NULL,
	resumes   TEXT    NOT NULL,
	outcome   TEXT    NOT NULL,
	stopped   INTEGER NOT NULL,
	PRIMARY KEY (epoch, session)
);
CREATE INDEX session_id ON session (session);
CREATE INDEX session_tag ON session (tag, begun);
CREATE INDEX session_begun ON session (begun);

CREATE TABLE contact (
	station   BIGINT NOT NULL REFERENCES station,
	boot      TEXT   NOT NULL,
	mono      BIGINT NOT NULL,
	at        BIGINT NOT NULL,
	within_ms BIGINT NOT NULL,
	PRIMARY KEY (station, boot, mono)
);

-- needs_… name the entries whose arrival mends the break.
CREATE TABLE log_break (
	id          BIGINT PRIMARY KEY,
	station     BIGINT NOT NULL REFERENCES station,
	epoch       TEXT   NOT NULL,
	seq         BIGINT NOT NULL,
	what        TEXT   NOT NULL,
	line        TEXT   NOT NULL,
	at          BIGINT NOT NULL,
	mended      BIGINT,
	needs_epoch TEXT   NOT NULL,
	needs_from  BIGINT NOT NULL,
	needs_to    BIGINT NOT NULL,
	needs_hash  TEXT   NOT NULL
);
CREATE INDEX log_break_place ON log_break (station, epoch, seq);
CREATE INDEX log_break_needs ON log_break (station, needs_epoch) WHERE mended IS NULL;

CREATE TABLE attention (
	id              BIGINT PRIMARY KEY,
	reason          TEXT   NOT NULL,
	station         BIGINT NOT NULL,
	tag             TEXT   NOT NULL,
	session         TEXT   NOT NULL,
	symptom         TEXT   NOT NULL,
	epoch           TEXT   NOT NULL,
	seq             BIGINT NOT NULL,
	raised          BIGINT NOT NULL,
	within_ms       BIGINT NOT NULL,
	delivered       BIGINT NOT NULL,
	shown           BIGINT,
	acknowledged    BIGINT,
	acknowledged_by TEXT   NOT NULL,
	going           BIGINT,
	going_by        TEXT   NOT NULL,
	told            BIGINT,
	closed          BIGINT,
	closed_by       TEXT   NOT NULL,
	done            TEXT   NOT NULL,
	ended           TEXT   NOT NULL
);
CREATE UNIQUE INDEX attention_entry ON attention (station, epoch, seq) WHERE epoch <> '';
CREATE INDEX attention_open ON attention (raised) WHERE closed IS NULL;
CREATE INDEX attention_tag ON attention (tag, raised);
CREATE INDEX attention_session ON attention (session);

CREATE TABLE hold (
	id         BIGINT PRIMARY KEY,
	tag        TEXT   NOT NULL,
	attention  BIGINT NOT NULL,
	reason     TEXT   NOT NULL,
	since      BIGINT NOT NULL,
	cleared    BIGINT,
	cleared_by TEXT   NOT NULL,
	note       TEXT   NOT NULL
);
CREATE UNIQUE INDEX hold_attention ON hold (tag, attention);
CREATE INDEX hold_tag ON hold (tag, since);

CREATE TABLE class (
	id        BIGINT PRIMARY KEY,
	day       TEXT   NOT NULL,
	text      TEXT   NOT NULL,
	timetable TEXT   NOT NULL,
	by_name   TEXT   NOT NULL,
	at        BIGINT NOT NULL
);
CREATE INDEX class_day ON class (day);

CREATE TABLE protocol (
	version BIGINT PRIMARY KEY,
	text    TEXT   NOT NULL,
	by_name TEXT   NOT NULL,
	at      BIGINT NOT NULL
);

CREATE TABLE setting (
	key   TEXT PRIMARY KEY,
	value TEXT NOT NULL
);

CREATE TABLE audit (
	id      BIGINT PRIMARY KEY,
	at      BIGINT NOT NULL,
	by_name TEXT   NOT NULL,
	action  TEXT   NOT NULL,
	subject TEXT   NOT NULL,
	detail  TEXT   NOT NULL,
	hash    TEXT   NOT NULL
);
