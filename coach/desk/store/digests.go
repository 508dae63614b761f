package store

import (
	"context"
	"time"
)

// Digest is what the entries of a session came to: a copy of what can be made
// of them at any time.
type Digest struct {
	Session // as it was when its entries were read
	Text    string
}

// stands are the conditions under which a digest d is of session v as it is
// now. Entries are only ever added, and dated once.
const stands = "d.entries = v.entries AND d.undated = e.undated AND d.made_by = $1"

// Digests gives the digests of a tag's sessions that stand and that a program
// made, by session.
func (s *Store) Digests(ctx context.Context, by, tag string) (map[SessionKey]string, error) {
	out := map[SessionKey]string{}
	_, err := many(ctx, s.reading(ctx), func(r row) (k SessionKey, err error) {
		var text string
		err = r.Scan(&k.Station, &k.Epoch, &k.ID, &text)
		out[k] = text
		return k, err
	}, "the digests", `SELECT e.station, e.epoch, v.session, d.text FROM session v JOIN epoch e ON e.id = v.epoch
		JOIN digest d ON d.epoch = v.epoch AND d.session = v.session WHERE `+stands+" AND v.tag = $2", by, tag)
	return out, err
}

// Undigested gives the tags with sessions, of which nothing came since a time,
// that have no digest by a program that stands.
func (s *Store) Undigested(ctx context.Context, by string, quiet time.Time) ([]string, error) {
	return many(ctx, s.reading(ctx), func(r row) (tag string, err error) { return tag, r.Scan(&tag) }, "what has no digest",
		`SELECT DISTINCT v.tag FROM session v JOIN epoch e ON e.id = v.epoch
		LEFT JOIN digest d ON d.epoch = v.epoch AND d.session = v.session AND `+stands+`
		WHERE d.epoch IS NULL AND v.newest < $2 ORDER BY v.tag`, by, millis(quiet))
}

// KeepDigests keeps digests that a program made. Those of sessions that have
// been forgotten since are not kept.
func (s *Store) KeepDigests(ctx context.Context, by string, made []Digest) error {
	return s.change(ctx, func(ctx context.Context, c *change) error {
		for _, d := range made {
			_, err := c.exec(ctx, `INSERT INTO digest (epoch, session, made_by, entries, undated, text)
				SELECT v.epoch, v.session, $1, $2, $3, $4 FROM session v JOIN epoch e ON e.id = v.epoch
				WHERE e.station = $5 AND e.epoch = $6 AND v.session = $7
				ON CONFLICT (epoch, session) DO UPDATE SET made_by = excluded.made_by, entries = excluded.entries,
				undated = excluded.undated, text = excluded.text`,
				by, d.Entries, d.Undated, d.Text, d.Station, d.Epoch, d.ID)
			if err != nil {
				return err
			}
		}
		return nil
	})
}
