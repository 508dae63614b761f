package store

import (
	"context"
	"fmt"
	"slices"
	"time"

	"evenbell/coach"
)

// Forget deletes, durably, what is known of patients who left before a day and
// are not kept by a legal hold: name, record, screenings, prescriptions,
// decisions, and every entry of their sessions. The tag stays, so that it is
// never given again; so do the audit trail, attentions and holds without what
// was said, and of each entry the hash, so that the logs can still be verified.
// A station's plan goes when all whom it was for are forgotten. It gives the
// tags, and a line of the audit trail for each. What a backup holds it cannot
// reach.
func (s *Store) Forget(ctx context.Context, before coach.Day, by string, at time.Time) (tags []string, err error) {
	leaving, err := many(ctx, s.reading(ctx), scanPatient, "the patients", "SELECT "+patientColumns+
		" FROM patient WHERE left_day <> '' AND left_day < $1 AND kept = 0 AND forgotten IS NULL ORDER BY id", string(before))
	if err != nil {
		return nil, err
	}
	for _, p := range leaving {
		forgotten, err := s.forget(ctx, p.ID, before, by, at)
		if err != nil {
			return tags, fmt.Errorf("forgetting %s: %w", p.Tag, err)
		}
		if forgotten {
			tags = append(tags, p.Tag)
		}
	}
	return tags, nil
}

// forget deletes one patient's, unless somebody has meanwhile kept them.
func (s *Store) forget(ctx context.Context, id int64, before coach.Day, by string, at time.Time) (done bool, err error) {
	err = s.change(ctx, func(ctx context.Context, c *change) error {
		p, err := s.Patient(ctx, id)
		if err != nil || p.Kept || p.Left == "" || p.Left >= before || p.Forgotten != nil {
			return err
		}
		for _, statement := range []string{
			"DELETE FROM screening WHERE patient = $1", "DELETE FROM prescription WHERE patient = $1", "DELETE FROM decision WHERE patient = $1",
		} {
			if _, err := c.exec(ctx, statement, id); err != nil {
				return err
			}
		}
		if err := c.forgetLog(ctx, p.Tag); err != nil {
			return err
		}
		if err := c.must(ctx, "patient", ErrNotFound, "UPDATE patient SET name = '', record = '{}', forgotten = $1, version = version + 1 WHERE id = $2", millis(at), id); err != nil {
			return err
		}
		if err := c.forgetPlans(ctx, p.Tag); err != nil {
			return err
		}
		done = true
		return s.Audit(ctx, AuditLine{At: at, By: by, Action: "forget", Subject: p.Tag, Detail: "left " + string(p.Left)})
	})
	return done, err
}

// forgetLog empties the entries of a tag and of its sessions.
func (c *change) forgetLog(ctx context.Context, tag string) error {
	const emptied = "UPDATE entry SET line = '', session = '', tag = '', kind = '' "
	for _, statement := range []string{
		emptied + `WHERE (epoch, seq) IN (SELECT n.epoch, n.seq FROM session v JOIN entry n ON n.epoch = v.epoch AND n.session = v.session
			AND n.seq BETWEEN v.first_seq AND v.last_seq WHERE v.tag = $1)`,
		emptied + "WHERE tag = $1 AND tag <> ''",
		"UPDATE log_break SET line = '' WHERE line LIKE '%\"tag\":\"' || $1 || '\"%'",
		"DELETE FROM session WHERE tag = $1",
		"UPDATE attention SET symptom = '', done = '', ended = '' WHERE tag = $1",
		"UPDATE hold SET note = '' WHERE tag = $1",
	} {
		if _, err := c.exec(ctx, statement, tag); err != nil {
			return err
		}
	}
	return nil
}

// forgetPlans deletes the plans that were for a tag and for nobody who is not
// forgotten.
func (c *change) forgetPlans(ctx context.Context, tag string) error {
	plans, err := many(ctx, c, scanStationPlan, "the plans", "SELECT "+stationPlanColumns+" FROM station_plan WHERE tags LIKE '%\"' || $1 || '\"%'", tag)
	if err != nil {
		return err
	}
	for _, p := range plans {
		known, err := c.knownAmong(ctx, p.Tags)
		if err != nil {
			return err
		}
		if known || !slices.Contains(p.Tags, tag) {
			continue
		}
		if _, err := c.exec(ctx, "DELETE FROM station_plan WHERE id = $1", p.ID); err != nil {
			return err
		}
	}
	return nil
}

// knownAmong reports whether any of the tags is of a patient who is not
// forgotten.
func (c *change) knownAmong(ctx context.Context, tags []string) (bool, error) {
	var w where
	among(&w, "tag", "IN", tags)
	var n int
	err := c.QueryRowContext(ctx, "SELECT count(*) FROM patient"+w.clause()+" AND forgotten IS NULL", w.args...).Scan(&n)
	return n > 0, err
}
