package store

import (
	"context"
	"strings"
	"time"
)

const staffColumns = "id, name, role, password, disabled, created"

func scanStaff(r row) (m Staff, err error) {
	return m, r.Scan(&m.ID, &m.Name, &m.Role, &m.Password, aFlag(&m.Disabled), aTime(&m.Created))
}

// folded is a name in which the case of letters no longer tells. SQLite's own
// lower knows ASCII alone.
func folded(name string) string { return strings.ToLower(strings.TrimSpace(name)) }

// AddStaff adds a member of staff; ErrTaken where the name is another's, in
// any case of its letters.
func (s *Store) AddStaff(ctx context.Context, m Staff) (Staff, error) {
	err := s.change(ctx, func(ctx context.Context, c *change) error {
		if other, err := s.StaffByName(ctx, m.Name); err == nil {
			return taken("staff " + other.Name)
		}
		m.ID = c.id()
		_, err := c.exec(ctx, "INSERT INTO staff ("+staffColumns+", folded) VALUES ($1, $2, $3, $4, $5, $6, $7)",
			m.ID, m.Name, string(m.Role), m.Password, number(m.Disabled), millis(m.Created), folded(m.Name))
		return err
	})
	return m, err
}

// Staff gives a member of staff.
func (s *Store) Staff(ctx context.Context, id int64) (Staff, error) {
	return one(ctx, s.reading(ctx), scanStaff, "member of staff", "SELECT "+staffColumns+" FROM staff WHERE id = $1", id)
}

// StaffByName gives the member of staff of that name, in any case of its
// letters.
func (s *Store) StaffByName(ctx context.Context, name string) (Staff, error) {
	return one(ctx, s.reading(ctx), scanStaff, "member of staff", "SELECT "+staffColumns+" FROM staff WHERE folded = $1", folded(name))
}

// StaffList gives everybody, by name.
func (s *Store) StaffList(ctx context.Context) ([]Staff, error) {
	return many(ctx, s.reading(ctx), scanStaff, "the staff", "SELECT "+staffColumns+" FROM staff ORDER BY folded")
}

// SetPassword changes an encoded password. It ends no login.
func (s *Store) SetPassword(ctx context.Context, id int64, encoded string) error {
	return s.set(ctx, "member of staff", "UPDATE staff SET password = $1 WHERE id = $2", encoded, id)
}

// SetRole changes what a member of staff may do.
func (s *Store) SetRole(ctx context.Context, id int64, role Role) error {
	return s.set(ctx, "member of staff", "UPDATE staff SET role = $1 WHERE id = $2", string(role), id)
}

// SetDisabled locks a member of staff out, ending all logins, or lets them in
// again.
func (s *Store) SetDisabled(ctx context.Context, id int64, disabled bool) error {
	return s.Together(ctx, func(ctx context.Context) error {
		if disabled {
			if err := s.EndLoginsOf(ctx, id); err != nil {
				return err
			}
		}
		return s.set(ctx, "member of staff", "UPDATE staff SET disabled = $1 WHERE id = $2", number(disabled), id)
	})
}

// set changes the one row that a statement names; ErrNotFound where there is
// none.
func (s *Store) set(ctx context.Context, what, query string, args ...any) error {
	return s.change(ctx, func(ctx context.Context, c *change) error {
		return c.must(ctx, what, ErrNotFound, query, args...)
	})
}

// AddLogin notes a login.
func (s *Store) AddLogin(ctx context.Context, l Login) error {
	return s.set(ctx, "login", "INSERT INTO login (hash, staff, created, seen) VALUES ($1, $2, $3, $4)",
		l.Hash, l.Staff, millis(l.Created), millis(l.Seen))
}

// Login gives the login with that hash.
func (s *Store) Login(ctx context.Context, hash string) (Login, error) {
	return one(ctx, s.reading(ctx), func(r row) (l Login, err error) {
		return l, r.Scan(&l.Hash, &l.Staff, aTime(&l.Created), aTime(&l.Seen))
	}, "login", "SELECT hash, staff, created, seen FROM login WHERE hash = $1", hash)
}

// TouchLogin notes that a login was used. It costs a write to the disk: once a
// minute is often enough.
func (s *Store) TouchLogin(ctx context.Context, hash string, at time.Time) error {
	return s.set(ctx, "login", "UPDATE login SET seen = $1 WHERE hash = $2", millis(at), hash)
}

// EndLogin logs a browser out; one that is not logged in stays so.
func (s *Store) EndLogin(ctx context.Context, hash string) error {
	return s.change(ctx, func(ctx context.Context, c *change) error {
		_, err := c.exec(ctx, "DELETE FROM login WHERE hash = $1", hash)
		return err
	})
}

// EndLoginsOf logs a member of staff out everywhere.
func (s *Store) EndLoginsOf(ctx context.Context, staff int64) error {
	return s.change(ctx, func(ctx context.Context, c *change) error {
		_, err := c.exec(ctx, "DELETE FROM login WHERE staff = $1", staff)
		return err
	})
}

// EndLoginsBefore ends the logins made before one time or last used before
// another, and says how many.
func (s *Store) EndLoginsBefore(ctx context.Context, created, seen time.Time) (n int64, err error) {
	err = s.change(ctx, func(ctx context.Context, c *change) (err error) {
		n, err = c.exec(ctx, "DELETE FROM login WHERE created < $1 OR seen < $2", millis(created), millis(seen))
		return err
	})
	return n, err
}
