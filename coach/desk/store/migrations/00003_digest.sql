-- What the entries of a session come to, so that a page about years of them
-- need not read them all: never the truth, and made anew wherever it is absent
-- or of something else. It stands while made_by is the program that asks and the
-- session has as many entries, and its epoch as many without a time, as then.

-- +goose Up

CREATE TABLE digest (
	epoch   BIGINT NOT NULL,
	session TEXT   NOT NULL,
	made_by TEXT   NOT NULL,
	entries BIGINT NOT NULL,
	undated BIGINT NOT NULL,
	text    TEXT   NOT NULL,
	PRIMARY KEY (epoch, session),
	FOREIGN KEY (epoch, session) REFERENCES session ON DELETE CASCADE
);

-- What the day's page asks for.
CREATE INDEX screening_day ON screening (day);
CREATE INDEX prescription_open ON prescription (patient) WHERE withdrawn = 0;
