-- A station that the power had cut off names the session in a fault of its next
-- epoch, which was listed as a session of its own there.

-- +goose Up

DELETE FROM session WHERE entries = 1 AND EXISTS
	(SELECT 1 FROM entry WHERE entry.epoch = session.epoch AND entry.seq = session.first_seq AND entry.kind = 'fault');
