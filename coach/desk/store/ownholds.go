package store

import (
	"context"
	"time"

	"evenbell/coach/journal"
)

// OwnHold is a hold with the entry that it came from.
type OwnHold struct {
	Hold
	Entry journal.Position // its Epoch is empty where it came from none
}

// HoldsFrom gives the holds that came from a station, open or cleared since
// then, however long ago they began.
func (s *Store) HoldsFrom(ctx context.Context, station int64, cleared time.Time) ([]OwnHold, error) {
	return many(ctx, s.reading(ctx), func(r row) (h OwnHold, err error) {
		return h, r.Scan(&h.ID, &h.Tag, &h.Attention, &h.Reason, aTime(&h.Since), aStep(&h.Cleared), &h.ClearedBy, &h.Note, &h.Entry.Epoch, &h.Entry.Seq)
	}, "the station's holds", `SELECT h.id, h.tag, h.attention, h.reason, h.since, h.cleared, h.cleared_by, h.note, a.epoch, a.seq
		FROM hold h JOIN attention a ON a.id = h.attention WHERE a.station = $1 AND (h.cleared IS NULL OR h.cleared >= $2) ORDER BY h.id`,
		station, millis(cleared))
}
