package store

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"evenbell/coach"
)

func taken(what string) error { return fmt.Errorf("%s: %w", what, ErrTaken) }

const patientColumns = "id, tag, name, record, left_day, kept, forgotten, version"

func scanPatient(r row) (p Patient, err error) {
	return p, r.Scan(&p.ID, &p.Tag, &p.Name, asJSON(&p.Record), &p.Left, aFlag(&p.Kept), aStep(&p.Forgotten), &p.Version)
}

// AddPatient adds a patient; ErrTaken where the tag is another's in any case of
// its letters, which nobody hears, even one that was forgotten: old logs would
// then be taken for the new patient's.
func (s *Store) AddPatient(ctx context.Context, p Patient) (Patient, error) {
	err := s.change(ctx, func(ctx context.Context, c *change) error {
		if other, err := s.heardAs(ctx, p.Tag); err == nil {
			return taken("tag " + other.Tag)
		}
		p.ID, p.Version, p.Forgotten = c.id(), 1, nil
		_, err := c.exec(ctx, "INSERT INTO patient ("+patientColumns+") VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
			p.ID, p.Tag, p.Name, inJSON{p.Record}, string(p.Left), number(p.Kept), nil, p.Version)
		return err
	})
	return p, err
}

// heardAs gives the patient of a tag in any case of its letters. Tags are ASCII.
func (s *Store) heardAs(ctx context.Context, tag string) (Patient, error) {
	return one(ctx, s.reading(ctx), scanPatient, "patient", "SELECT "+patientColumns+" FROM patient WHERE lower(tag) = lower($1) ORDER BY id LIMIT 1", tag)
}

// EnsureTag gives the patient of a tag, in any case of its letters where no tag
// is exactly this one, and adds one without a name where there is none.
func (s *Store) EnsureTag(ctx context.Context, tag string) (Patient, error) {
	p, err := s.PatientByTag(ctx, tag)
	if !errors.Is(err, ErrNotFound) {
		return p, err
	}
	p, err = s.AddPatient(ctx, Patient{Tag: tag})
	if errors.Is(err, ErrTaken) {
		return s.heardAs(ctx, tag)
	}
	return p, err
}

// Patient gives a patient.
func (s *Store) Patient(ctx context.Context, id int64) (Patient, error) {
	return one(ctx, s.reading(ctx), scanPatient, "patient", "SELECT "+patientColumns+" FROM patient WHERE id = $1", id)
}

// PatientByTag gives the patient of a tag.
func (s *Store) PatientByTag(ctx context.Context, tag string) (Patient, error) {
	return one(ctx, s.reading(ctx), scanPatient, "patient", "SELECT "+patientColumns+" FROM patient WHERE tag = $1", tag)
}

// PatientFilter chooses patients; its zero value chooses all.
type PatientFilter struct {
	Text    string // in the name or the tag, in any case of its letters
	Current bool   // only those whose programme goes on
}

// Patients gives patients by name, those without one last, by tag.
func (s *Store) Patients(ctx context.Context, f PatientFilter) ([]Patient, error) {
	var w where
	if f.Current {
		w.and("left_day = ''")
	}
	all, err := many(ctx, s.reading(ctx), scanPatient, "the patients",
		"SELECT "+patientColumns+" FROM patient"+w.clause(), w.args...)
	text := folded(f.Text)
	all = slices.DeleteFunc(all, func(p Patient) bool {
		return !strings.Contains(folded(p.Name), text) && !strings.Contains(folded(p.Tag), text)
	})
	slices.SortFunc(all, byName)
	return all, err
}

func byName(a, b Patient) int {
	if (a.Name == "") != (b.Name == "") {
		return cmp.Compare(number(a.Name == ""), number(b.Name == ""))
	}
	return cmp.Or(cmp.Compare(folded(a.Name), folded(b.Name)), cmp.Compare(a.Tag, b.Tag))
}

// UpdatePatient saves everything but the tag. p.Version is that of the patient
// as it was read; ErrChanged where somebody saved a change meanwhile, ErrState
// where the patient was forgotten.
func (s *Store) UpdatePatient(ctx context.Context, p Patient) (Patient, error) {
	err := s.change(ctx, func(ctx context.Context, c *change) error {
		now, err := s.Patient(ctx, p.ID)
		switch {
		case err != nil:
			return err
		case now.Forgotten != nil:
			return fmt.Errorf("patient %s was forgotten: %w", now.Tag, ErrState)
		case now.Version != p.Version:
			return fmt.Errorf("patient %s: %w", now.Tag, ErrChanged)
		}
		p.Tag, p.Version, p.Forgotten = now.Tag, p.Version+1, nil
		return c.must(ctx, "patient", ErrNotFound, "UPDATE patient SET name = $1, record = $2, left_day = $3, kept = $4, version = $5 WHERE id = $6",
			p.Name, inJSON{p.Record}, string(p.Left), number(p.Kept), p.Version, p.ID)
	})
	return p, err
}

const screeningColumns = "id, patient, day, today, result, by_name, at"

func scanScreening(r row) (v Screening, err error) {
	return v, r.Scan(&v.ID, &v.Patient, &v.Day, asJSON(&v.Today), asJSON(&v.Result), &v.By, aTime(&v.At))
}

// AddScreening keeps a screening. Several of one day stand beside each other;
// the last counts.
func (s *Store) AddScreening(ctx context.Context, v Screening) (Screening, error) {
	err := s.change(ctx, func(ctx context.Context, c *change) error {
		v.ID = c.id()
		_, err := c.exec(ctx, "INSERT INTO screening ("+screeningColumns+") VALUES ($1, $2, $3, $4, $5, $6, $7)",
			v.ID, v.Patient, string(v.Day), inJSON{v.Today}, inJSON{v.Result}, v.By, millis(v.At))
		return err
	})
	return v, err
}

// ScreeningsOn gives the screenings of a day, in the order in which they were
// made.
func (s *Store) ScreeningsOn(ctx context.Context, day coach.Day) ([]Screening, error) {
	return many(ctx, s.reading(ctx), scanScreening, "the screenings",
		"SELECT "+screeningColumns+" FROM screening WHERE day = $1 ORDER BY at, id", string(day))
}

// ScreeningsOf gives a patient's screenings, newest first; limit 0 for all.
func (s *Store) ScreeningsOf(ctx context.Context, patient int64, limit int) ([]Screening, error) {
	return many(ctx, s.reading(ctx), scanScreening, "the screenings",
		"SELECT "+screeningColumns+" FROM screening WHERE patient = $1 ORDER BY at DESC, id DESC"+limited(limit), patient)
}
