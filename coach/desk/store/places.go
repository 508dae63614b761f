package store

import (
	"cmp"
	"context"
	"encoding/base64"
	"fmt"
	"slices"
	"time"
)

const stationColumns = "id, name, place, key, secret, codes, enrolled, revoked, seen, status"

func scanStation(r row) (v Station, err error) {
	secret := into(func(column any) (err error) {
		text, _ := column.(string)
		v.Secret, err = base64.StdEncoding.DecodeString(text)
		return err
	})
	return v, r.Scan(&v.ID, &v.Name, &v.Place, &v.Key, secret, &v.Codes, aStep(&v.Enrolled), aStep(&v.Revoked), aStep(&v.Seen), &v.Status)
}

// AddStation adds a station that is yet to be enrolled; ErrTaken where the
// name is another's, in any case of its letters.
func (s *Store) AddStation(ctx context.Context, v Station) (Station, error) {
	v = Station{Name: v.Name, Place: v.Place}
	err := s.change(ctx, func(ctx context.Context, c *change) error {
		if other, err := s.StationByName(ctx, v.Name); err == nil {
			return taken("station " + other.Name)
		}
		v.ID = c.id()
		_, err := c.exec(ctx, "INSERT INTO station (id, name, folded, place, key, secret, codes, status) VALUES ($1, $2, $3, $4, '', '', 0, '')",
			v.ID, v.Name, folded(v.Name), v.Place)
		return err
	})
	return v, err
}

// Station gives a station.
func (s *Store) Station(ctx context.Context, id int64) (Station, error) {
	return one(ctx, s.reading(ctx), scanStation, "station", "SELECT "+stationColumns+" FROM station WHERE id = $1", id)
}

// StationByName gives the station of that name, in any case of its letters.
func (s *Store) StationByName(ctx context.Context, name string) (Station, error) {
	return one(ctx, s.reading(ctx), scanStation, "station", "SELECT "+stationColumns+" FROM station WHERE folded = $1", folded(name))
}

// StationByKey gives the station with that public key, a revoked one too.
func (s *Store) StationByKey(ctx context.Context, key string) (Station, error) {
	if key == "" {
		return Station{}, none("station")
	}
	return one(ctx, s.reading(ctx), scanStation, "station", "SELECT "+stationColumns+" FROM station WHERE key = $1", key)
}

// Stations gives all stations by name, revoked ones too.
func (s *Store) Stations(ctx context.Context) ([]Station, error) {
	all, err := many(ctx, s.reading(ctx), scanStation, "the stations", "SELECT "+stationColumns+" FROM station ORDER BY folded")
	slices.SortFunc(all, func(a, b Station) int { return cmp.Compare(folded(a.Name), folded(b.Name)) })
	return all, err
}

// RenameStation changes what a station is called and where it stands.
func (s *Store) RenameStation(ctx context.Context, id int64, name, place string) error {
	return s.change(ctx, func(ctx context.Context, c *change) error {
		if other, err := s.StationByName(ctx, name); err == nil && other.ID != id {
			return taken("station " + other.Name)
		}
		return c.must(ctx, "station", ErrNotFound, "UPDATE station SET name = $1, folded = $2, place = $3 WHERE id = $4", name, folded(name), place, id)
	})
}

// Enrol gives a station its key and secret, in place of earlier ones, and lets
// it in, revoked before or not. ErrTaken where the key is another station's.
func (s *Store) Enrol(ctx context.Context, id int64, key string, secret []byte, at time.Time) error {
	return s.change(ctx, func(ctx context.Context, c *change) error {
		if other, err := s.StationByKey(ctx, key); err == nil && other.ID != id {
			return taken("key of station " + other.Name)
		}
		return c.must(ctx, "station", ErrNotFound, "UPDATE station SET key = $1, secret = $2, codes = 0, enrolled = $3, revoked = NULL WHERE id = $4",
			key, base64.StdEncoding.EncodeToString(secret), millis(at), id)
	})
}

// Revoke locks a station out. Its key stays known, so that it can be told.
func (s *Store) Revoke(ctx context.Context, id int64, at time.Time) error {
	return s.set(ctx, "station", "UPDATE station SET revoked = coalesce(revoked, $1) WHERE id = $2", millis(at), id)
}

// SawStation notes a contact and what the station said of itself; an empty
// status leaves what it said before. It costs a write to the disk: once a
// minute is often enough for a time alone.
func (s *Store) SawStation(ctx context.Context, id int64, at time.Time, status string) error {
	return s.set(ctx, "station", "UPDATE station SET seen = $1, status = CASE WHEN $2 = '' THEN status ELSE $3 END WHERE id = $4",
		millis(at), status, status, id)
}

// NextTelephoneCode gives the counter for the station's next code, from 0; it
// is never given again for the same secret.
func (s *Store) NextTelephoneCode(ctx context.Context, id int64) (counter int64, err error) {
	err = s.change(ctx, func(ctx context.Context, c *change) error {
		station, err := s.Station(ctx, id)
		if err != nil {
			return err
		}
		counter = station.Codes
		return c.must(ctx, "station", ErrNotFound, "UPDATE station SET codes = codes + 1 WHERE id = $1", id)
	})
	return counter, err
}

// TelephoneCodeSeen notes that a station has taken a code, by its number from 1:
// a store put back from a backup would otherwise give it once more.
func (s *Store) TelephoneCodeSeen(ctx context.Context, id, number int64) error {
	return s.change(ctx, func(ctx context.Context, c *change) error {
		_, err := c.exec(ctx, "UPDATE station SET codes = $1 WHERE id = $2 AND codes < $3", min(number, 1<<40), id, min(number, 1<<40))
		return err
	})
}

// MostTries is how many wrong tries end an enrolment code.
const MostTries = 5

const codeColumns = "id, station, code, expires, tries, used"

func scanCode(r row) (v EnrolmentCode, err error) {
	return v, r.Scan(&v.ID, &v.Station, &v.Code, aTime(&v.Expires), &v.Tries, aFlag(&v.Used))
}

// AddCode adds a code and ends the station's earlier ones. Codes that can no
// longer be used are deleted.
func (s *Store) AddCode(ctx context.Context, v EnrolmentCode) (EnrolmentCode, error) {
	v.Tries, v.Used = 0, false
	err := s.change(ctx, func(ctx context.Context, c *change) error {
		if _, err := c.exec(ctx, "DELETE FROM enrolment_code WHERE station = $1", v.Station); err != nil {
			return err
		}
		v.ID = c.id()
		_, err := c.exec(ctx, "INSERT INTO enrolment_code ("+codeColumns+") VALUES ($1, $2, $3, $4, 0, 0)", v.ID, v.Station, v.Code, millis(v.Expires))
		return err
	})
	return v, err
}

var usable = fmt.Sprintf("used = 0 AND tries < %d AND expires > $1", MostTries)

// OpenCodes gives the codes that can be used now.
func (s *Store) OpenCodes(ctx context.Context, now time.Time) ([]EnrolmentCode, error) {
	return many(ctx, s.reading(ctx), scanCode, "the codes", "SELECT "+codeColumns+" FROM enrolment_code WHERE "+usable+" ORDER BY id", millis(now))
}

// WrongTry counts a wrong try against a code and says how many there were. The
// last of MostTries also deletes what the code was.
func (s *Store) WrongTry(ctx context.Context, id int64) (tries int, err error) {
	err = s.change(ctx, func(ctx context.Context, c *change) error {
		err := c.must(ctx, "code", ErrNotFound, fmt.Sprintf(
			"UPDATE enrolment_code SET tries = tries + 1, code = CASE WHEN tries + 1 >= %d THEN '' ELSE code END WHERE id = $1", MostTries), id)
		if err != nil {
			return err
		}
		return c.QueryRowContext(ctx, "SELECT tries FROM enrolment_code WHERE id = $1", id).Scan(&tries)
	})
	return tries, err
}

// UseCode uses a code up. Only one caller ever succeeds; ErrState for all
// others, and once it expired or was tried wrongly too often.
func (s *Store) UseCode(ctx context.Context, id int64, now time.Time) error {
	return s.change(ctx, func(ctx context.Context, c *change) error {
		return c.must(ctx, "a code that was used or has expired", ErrState,
			"UPDATE enrolment_code SET used = 1, code = '' WHERE "+usable+" AND id = $2", millis(now), id)
	})
}
