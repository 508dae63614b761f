package store

import (
	"context"
	"errors"

	"evenbell/coach"
)

const classColumns = "id, day, text, timetable, by_name, at"

func scanClass(r row) (c Class, err error) {
	return c, r.Scan(&c.ID, &c.Day, &c.Text, &c.Timetable, &c.By, aTime(&c.At))
}

// AddClass keeps a class.
func (s *Store) AddClass(ctx context.Context, v Class) (Class, error) {
	err := s.change(ctx, func(ctx context.Context, c *change) error {
		v.ID = c.id()
		_, err := c.exec(ctx, "INSERT INTO class ("+classColumns+") VALUES ($1, $2, $3, $4, $5, $6)",
			v.ID, string(v.Day), v.Text, v.Timetable, v.By, millis(v.At))
		return err
	})
	return v, err
}

// SetTimetable keeps the solution of a class.
func (s *Store) SetTimetable(ctx context.Context, id int64, timetable string) error {
	return s.set(ctx, "class", "UPDATE class SET timetable = $1 WHERE id = $2", timetable, id)
}

// Class gives a class.
func (s *Store) Class(ctx context.Context, id int64) (Class, error) {
	return one(ctx, s.reading(ctx), scanClass, "class", "SELECT "+classColumns+" FROM class WHERE id = $1", id)
}

// Classes gives the classes from one day to another, both included.
func (s *Store) Classes(ctx context.Context, from, to coach.Day) ([]Class, error) {
	return many(ctx, s.reading(ctx), scanClass, "the classes",
		"SELECT "+classColumns+" FROM class WHERE day >= $1 AND day <= $2 ORDER BY day, at, id", string(from), string(to))
}

func scanProtocol(r row) (p Protocol, err error) {
	return p, r.Scan(&p.Version, &p.Text, &p.By, aTime(&p.At))
}

// AddProtocol keeps the next version of the clinic's protocol file.
func (s *Store) AddProtocol(ctx context.Context, p Protocol) (Protocol, error) {
	err := s.change(ctx, func(ctx context.Context, c *change) error {
		if err := c.QueryRowContext(ctx, "SELECT coalesce(max(version), 0) + 1 FROM protocol").Scan(&p.Version); err != nil {
			return err
		}
		_, err := c.exec(ctx, "INSERT INTO protocol (version, text, by_name, at) VALUES ($1, $2, $3, $4)", p.Version, p.Text, p.By, millis(p.At))
		return err
	})
	return p, err
}

// Protocol gives the newest version; ErrNotFound where the clinic has none of
// its own.
func (s *Store) Protocol(ctx context.Context) (Protocol, error) {
	return one(ctx, s.reading(ctx), scanProtocol, "protocol", "SELECT version, text, by_name, at FROM protocol ORDER BY version DESC LIMIT 1")
}

// Protocols gives all versions, newest first.
func (s *Store) Protocols(ctx context.Context) ([]Protocol, error) {
	return many(ctx, s.reading(ctx), scanProtocol, "the protocols", "SELECT version, text, by_name, at FROM protocol ORDER BY version DESC")
}

// Setting gives a setting's text; empty where it was never set.
func (s *Store) Setting(ctx context.Context, key string) (string, error) {
	v, err := one(ctx, s.reading(ctx), func(r row) (v string, err error) { return v, r.Scan(&v) },
		"setting", "SELECT value FROM setting WHERE key = $1", key)
	if errors.Is(err, ErrNotFound) {
		return "", nil
	}
	return v, err
}

// SetSetting sets a setting.
func (s *Store) SetSetting(ctx context.Context, key, value string) error {
	return s.change(ctx, func(ctx context.Context, c *change) error {
		_, err := c.exec(ctx, "INSERT INTO setting (key, value) VALUES ($1, $2) ON CONFLICT (key) DO UPDATE SET value = excluded.value", key, value)
		return err
	})
}

// Settings gives every setting that was set.
func (s *Store) Settings(ctx context.Context) (map[string]string, error) {
	type setting struct{ key, value string }
	all, err := many(ctx, s.reading(ctx), func(r row) (v setting, err error) { return v, r.Scan(&v.key, &v.value) },
		"the settings", "SELECT key, value FROM setting")
	settings := make(map[string]string, len(all))
	for _, v := range all {
		settings[v.key] = v.value
	}
	return settings, err
}
