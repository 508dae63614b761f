-- Lines of the clinic's own exercises that somebody recorded. One belongs to
-- its words in a language; sound is a WAV file in base64. Until a supervisor
-- has signed it, it goes to no station.

-- +goose Up

CREATE TABLE recording (
	language  TEXT   NOT NULL,
	text      TEXT   NOT NULL,
	hash      TEXT   NOT NULL UNIQUE,
	exercise  TEXT   NOT NULL,
	line      TEXT   NOT NULL,
	sound     TEXT   NOT NULL,
	length_ms BIGINT NOT NULL,
	by_name   TEXT   NOT NULL,
	at        BIGINT NOT NULL,
	signed    TEXT   NOT NULL,
	signed_at BIGINT NOT NULL,
	PRIMARY KEY (language, text)
);
