package desk

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/plan"
)

// Person is everything about one patient that a page shows, but for what was
// done; see Reviewed.
type Person struct {
	store.Patient
	Precautions   []coach.Precaution // in force today, those that follow from what was done to them included
	Holds         []store.Hold       // not cleared
	Attentions    []Need             // newest first
	Prescriptions []store.Prescription
	InForce       *store.Prescription // approved and for today
	Screening     *store.Screening    // today's
	Stations      []string            // whose plan for today has them
}

// Patients lists patients by name (SeePatients): current ones only, or all;
// text is searched for in name and tag.
func (d *Desk) Patients(ctx context.Context, who Actor, current bool, text string) ([]store.Patient, error) {
	if err := who.check(SeePatients); err != nil {
		return nil, err
	}
	all, err := d.store.Patients(ctx, store.PatientFilter{Current: current, Text: strings.TrimSpace(text)})
	if err != nil {
		return nil, err
	}
	return all, d.looked(ctx, who, SeePatients, "", fmt.Sprintf("the list, %d", len(all)))
}

// View is everything about one patient but what was done (SeePatients); the
// look is audited.
func (d *Desk) View(ctx context.Context, who Actor, tag string) (*Person, error) {
	if err := who.check(SeePatients); err != nil {
		return nil, err
	}
	p, err := d.patientTagged(ctx, tag)
	if err != nil {
		return nil, err
	}
	if err := d.looked(ctx, who, SeePatients, p.Tag, "record"); err != nil {
		return nil, err
	}
	v := &Person{Patient: p}
	today, err1 := d.Today(ctx)
	limits, err2 := d.Protocol(ctx)
	if err := errors.Join(err1, err2); err != nil {
		return nil, err
	}
	v.Precautions = precautions(limits, p.Record, today)
	if v.Holds, err = d.openHoldsOf(ctx, p.Tag); err != nil {
		return nil, err
	}
	if v.Attentions, err = d.needs(ctx, store.AttentionFilter{Tag: p.Tag}); err != nil {
		return nil, err
	}
	if err := d.viewPlans(ctx, v, today); err != nil {
		return nil, err
	}
	return v, nil
}

func (d *Desk) viewPlans(ctx context.Context, v *Person, today coach.Day) (err error) {
	if v.Prescriptions, err = d.store.PrescriptionsOf(ctx, v.ID); err != nil {
		return err
	}
	for i := range v.Prescriptions {
		rx := &v.Prescriptions[i]
		if v.InForce == nil && rx.Approved != "" && !rx.Withdrawn && coversDay(rx.Text, today) {
			v.InForce = rx
		}
	}
	if v.Screening, err = d.screeningOn(ctx, v.ID, today); err != nil {
		return err
	}
	plans, err := d.store.StationPlansOn(ctx, today)
	if err != nil {
		return err
	}
	for _, sp := range plans {
		if !slices.Contains(sp.Tags, v.Tag) {
			continue
		}
		st, err := d.store.Station(ctx, sp.Station)
		if err != nil {
			return err
		}
		v.Stations = append(v.Stations, st.Name)
	}
	return nil
}

// coversDay reports whether a plan's text is for a day, whatever else is to be
// said of it.
func coversDay(text string, day coach.Day) bool {
	first, last, ok := plan.ReadDays([]byte(text))
	return ok && first <= day && day <= last
}

var tagForm = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9-]{0,7}$`)

// The letters and digits of tags the desk makes: none that sound or look like
// another of them.
const (
	tagLetters = "ACEFHJKLNPRTWX"
	tagDigits  = "23479"
)

// FreeTag suggests a tag nobody has, such as "K4" or "KA24".
func (d *Desk) FreeTag(ctx context.Context) (string, error) {
	all, err := d.store.Patients(ctx, store.PatientFilter{})
	if err != nil {
		return "", err
	}
	taken := map[string]bool{}
	for _, p := range all {
		taken[strings.ToUpper(p.Tag)] = true
	}
	var raw [4]byte
	for try := range 1000 {
		if _, err := d.random.Read(raw[:]); err != nil {
			return "", fmt.Errorf("making a tag: %w", err)
		}
		tag := string([]byte{tagLetters[int(raw[0])%len(tagLetters)], tagDigits[int(raw[1])%len(tagDigits)]})
		if try >= 50 {
			tag = string([]byte{tag[0], tagLetters[int(raw[2])%len(tagLetters)], tag[1], tagDigits[int(raw[3])%len(tagDigits)]})
		}
		if !taken[tag] {
			return tag, nil
		}
	}
	return "", refuse("tag", "no free tag was found; choose one, of one to eight letters, digits or hyphens")
}

// AddPatient adds a person (ChangePatients); an empty tag gets a free one. A
// tag that came with a plan before anybody named it takes the name. Refusal on
// what cannot be.
func (d *Desk) AddPatient(ctx context.Context, who Actor, p store.Patient) (store.Patient, error) {
	if err := who.check(ChangePatients); err != nil {
		return p, err
	}
	p.Tag, p.Name = strings.TrimSpace(p.Tag), strings.TrimSpace(p.Name)
	if p.Tag == "" {
		tag, err := d.FreeTag(ctx)
		if err != nil {
			return p, err
		}
		p.Tag = tag
	}
	if err := checkPatient(p); err != nil {
		return p, err
	}
	err := d.change(ctx, func(ctx context.Context) (err error) {
		if p, err = d.addOrName(ctx, p); err != nil {
			return err
		}
		return d.audit(ctx, who, ChangePatients, p.Tag, "added")
	})
	if errors.Is(err, store.ErrTaken) {
		return p, refuse("tag", "%q is another patient's already", p.Tag)
	}
	return p, err
}

func (d *Desk) addOrName(ctx context.Context, p store.Patient) (store.Patient, error) {
	old, err := d.store.PatientByTag(ctx, p.Tag)
	switch {
	case errors.Is(err, store.ErrNotFound):
		return d.store.AddPatient(ctx, p)
	case err != nil:
		return p, err
	case old.Name != "" || old.Forgotten != nil:
		return p, store.ErrTaken
	}
	old.Name, old.Record, old.Left, old.Kept = p.Name, p.Record, p.Left, p.Kept
	return d.store.UpdatePatient(ctx, old)
}

// ChangePatient changes a record, name or last day (ChangePatients). was is the
// Version the form was made from; ErrChanged where somebody was quicker. change
// must not change the tag.
func (d *Desk) ChangePatient(ctx context.Context, who Actor, tag string, was int64, change func(*store.Patient) error) (p store.Patient, err error) {
	if err := who.check(ChangePatients); err != nil {
		return p, err
	}
	err = d.change(ctx, func(ctx context.Context) error {
		if p, err = d.patientTagged(ctx, tag); err != nil {
			return err
		}
		if p.Version != was {
			return fmt.Errorf("%w: the record of %s", ErrChanged, p.Tag)
		}
		before, kept, named := asJSON(p.Record), p.Kept, p.Name
		if err := change(&p); err != nil {
			return err
		}
		p.Name, p.Kept = strings.TrimSpace(p.Name), kept
		if err := checkPatient(p); err != nil {
			return err
		}
		what := changedKeys(before, asJSON(p.Record))
		if p.Name != named {
			what += "; name"
		}
		if p, err = d.store.UpdatePatient(ctx, p); err != nil {
			return err
		}
		return d.audit(ctx, who, ChangePatients, p.Tag, what)
	})
	if errors.Is(err, store.ErrChanged) {
		err = fmt.Errorf("%w: the record of %s", ErrChanged, tag)
	}
	if err == nil {
		d.allStationsChanged() // a precaution may forbid what one has
	}
	return p, err
}

func asJSON(v any) []byte {
	b, err := json.Marshal(v)
	if err != nil {
		return nil // it came from JSON
	}
	return b
}

// checkPatient refuses what no patient can be.
func checkPatient(p store.Patient) error {
	if !tagForm.MatchString(p.Tag) {
		return refuse("tag", "%q is no tag; one to eight letters, digits or hyphens, such as \"K4\"; never a name", p.Tag)
	}
	if err := properLine("name", p.Name, 80); err != nil {
		return err
	}
	r := p.Record
	if r.Call != "" && !slices.Contains(plan.CallWords, r.Call) {
		return refuse("call", "%q is no call word; one of %s", r.Call, strings.Join(plan.CallWords, ", "))
	}
	switch r.Guide {
	case "", coach.GuideTones, coach.GuideVoice, coach.GuideBoth:
	default:
		return refuse("guide", "%q; tones, voice or both", r.Guide)
	}
	if r.Wanted < 0 || r.Wanted > 7 {
		return refuse("wanted", "is %d sessions a week; from 0 to 7", r.Wanted)
	}
	days := append([]coach.Day{r.Born, p.Left, r.Screening.Infarction, r.Screening.Stent, r.Screening.Sternotomy, r.Screening.Device}, r.Admissions...)
	for _, e := range r.Events {
		days = append(days, e.Day)
	}
	for _, pre := range r.Precautions {
		if !slices.Contains(coach.PrecautionKinds, pre.Kind) {
			return refuse("precautions", "%q is no precaution", pre.Kind)
		}
		days = append(days, pre.Since, pre.Until)
	}
	for _, day := range days {
		if day == "" {
			continue
		}
		if _, err := coach.ParseDay(string(day)); err != nil {
			return refuse("day", "%v", err)
		}
	}
	return nil
}

// KeepPatient sets or lifts legal hold (KeepData): nothing of a patient who is
// kept is ever deleted.
func (d *Desk) KeepPatient(ctx context.Context, who Actor, tag string, keep bool) error {
	if err := who.check(KeepData); err != nil {
		return err
	}
	return d.change(ctx, func(ctx context.Context) error {
		p, err := d.patientTagged(ctx, tag)
		if err != nil {
			return err
		}
		what := "legal hold lifted"
		if p.Kept = keep; keep {
			what = "legal hold"
		}
		if _, err := d.store.UpdatePatient(ctx, p); err != nil {
			return err
		}
		return d.audit(ctx, who, KeepData, p.Tag, what)
	})
}
