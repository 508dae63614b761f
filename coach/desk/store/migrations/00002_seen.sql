-- What the approver of a prescription was shown beside its text.

-- +goose Up

ALTER TABLE prescription ADD COLUMN seen TEXT NOT NULL DEFAULT '{}';
