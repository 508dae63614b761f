package store

import (
	"context"
	"time"

	"evenbell/coach"
)

const stationPlanColumns = "id, station, version, day, until, tags, text, fingerprint, sent, sent_at, delivered_at, taken_at, refused"

func scanStationPlan(r row) (p StationPlan, err error) {
	return p, r.Scan(&p.ID, &p.Station, &p.Version, &p.Day, &p.Until, asJSON(&p.Tags), &p.Text, &p.Fingerprint,
		&p.Sent, aTime(&p.SentAt), aStep(&p.DeliveredAt), aStep(&p.TakenAt), &p.Refused)
}

// SendPlan keeps a plan as the station's next version; it is then the one the
// station is to have. An empty Until is the same day. A Version that is given is
// how many numbers are left out, for those that may have been used.
func (s *Store) SendPlan(ctx context.Context, p StationPlan) (StationPlan, error) {
	p.DeliveredAt, p.TakenAt, p.Refused = nil, nil, ""
	if p.Until == "" {
		p.Until = p.Day
	}
	err := s.change(ctx, func(ctx context.Context, c *change) error {
		p.ID = c.id()
		if err := c.QueryRowContext(ctx, "SELECT coalesce(max(version), 0) + 1 + $1 FROM station_plan WHERE station = $2", p.Version, p.Station).Scan(&p.Version); err != nil {
			return err
		}
		_, err := c.exec(ctx, "INSERT INTO station_plan ("+stationPlanColumns+") VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, NULL, NULL, '')",
			p.ID, p.Station, p.Version, string(p.Day), string(p.Until), inJSON{p.Tags}, p.Text, p.Fingerprint, p.Sent, millis(p.SentAt))
		return err
	})
	return p, err
}

// endless is the last day of what has no end.
const endless coach.Day = "9999-12-31"

// KnowPlan keeps the number of a plan that a station has and that was never sent
// from here, so that the number is not used again. From then on it is the newest
// one, for every day, until another is sent.
func (s *Store) KnowPlan(ctx context.Context, station, version int64, at time.Time) error {
	return s.change(ctx, func(ctx context.Context, c *change) error {
		_, err := c.exec(ctx, "INSERT INTO station_plan ("+stationPlanColumns+") VALUES ($1, $2, $3, '', $4, $5, '', '', '', $6, $7, NULL, '')",
			c.id(), station, version, string(endless), inJSON{[]string{}}, millis(at), millis(at))
		return err
	})
}

// StationPlan gives one version.
func (s *Store) StationPlan(ctx context.Context, id int64) (StationPlan, error) {
	return one(ctx, s.reading(ctx), scanStationPlan, "station plan", "SELECT "+stationPlanColumns+" FROM station_plan WHERE id = $1", id)
}

// PlanFor gives the newest version for a station; ErrNotFound where none was
// sent.
func (s *Store) PlanFor(ctx context.Context, station int64) (StationPlan, error) {
	return one(ctx, s.reading(ctx), scanStationPlan, "station plan",
		"SELECT "+stationPlanColumns+" FROM station_plan WHERE station = $1 ORDER BY version DESC LIMIT 1", station)
}

// StationPlansOf gives all versions for a station, newest first.
func (s *Store) StationPlansOf(ctx context.Context, station int64) ([]StationPlan, error) {
	return many(ctx, s.reading(ctx), scanStationPlan, "the station's plans",
		"SELECT "+stationPlanColumns+" FROM station_plan WHERE station = $1 ORDER BY version DESC", station)
}

// StationPlansOn gives each station's newest plan of those for the day.
func (s *Store) StationPlansOn(ctx context.Context, day coach.Day) ([]StationPlan, error) {
	return many(ctx, s.reading(ctx), scanStationPlan, "the plans of a day",
		"SELECT "+stationPlanColumns+` FROM station_plan p WHERE until >= $1 AND day <= $2
		AND version = (SELECT max(version) FROM station_plan q WHERE q.station = p.station AND q.until >= $3 AND q.day <= $4) ORDER BY station`,
		string(day), string(day), string(day), string(day))
}

// PlanDelivered notes when a station first had a plan.
func (s *Store) PlanDelivered(ctx context.Context, id int64, at time.Time) error {
	return s.set(ctx, "station plan", "UPDATE station_plan SET delivered_at = coalesce(delivered_at, $1) WHERE id = $2", millis(at), id)
}

// PlanTaken notes when a station first coached by a plan; it no longer refuses
// it then.
func (s *Store) PlanTaken(ctx context.Context, id int64, at time.Time) error {
	return s.set(ctx, "station plan", "UPDATE station_plan SET taken_at = coalesce(taken_at, $1), refused = '' WHERE id = $2", millis(at), id)
}

// PlanRefused notes why a station does not coach by a plan.
func (s *Store) PlanRefused(ctx context.Context, id int64, why string) error {
	return s.set(ctx, "station plan", "UPDATE station_plan SET refused = $1 WHERE id = $2", why, id)
}
