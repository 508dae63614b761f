package record

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/screening"
)

// Moment is one thing that happened, on a timeline of the station, the desk
// and people together.
type Moment struct {
	At      string `json:"at"`                 // RFC 3339 in the clinic's zone; empty where nobody can tell
	WithinS string `json:"within_s"`           // how far At may be off, in seconds
	Who     string `json:"who"`                // station, desk, or a name
	What    string `json:"what"`               // in plain words
	Detail  string `json:"detail,omitempty"`   // in plain words
	SampleS string `json:"sample_s,omitempty"` // seconds of the session's sample clock
	Epoch   string `json:"epoch,omitempty"`
	Seq     int64  `json:"seq,omitempty"`
	sort    time.Time
}

// line is what is gathered for a timeline.
type line struct {
	Clinic
	all []Moment
}

func (l *line) add(at time.Time, within time.Duration, who, what, detail string) {
	if at.IsZero() {
		return
	}
	l.all = append(l.all, Moment{At: l.stamp(at), WithinS: coach.Seconds(within).String(), Who: who, What: what, Detail: detail, sort: at})
}

func (l *line) step(at *time.Time, who, what, detail string) {
	if at != nil {
		l.add(*at, 0, who, what, detail)
	}
}

// moments is everything with a time, in its order; of the log, also what has
// none, where it stands there.
func (in Incident) moments() ([]Moment, error) {
	l := &line{Clinic: in.Clinic}
	if err := in.logMoments(l); err != nil {
		return nil, err
	}
	for _, p := range in.Approved {
		l.add(p.ApprovedAt, 0, p.Prescription.Approved, "programme approved", fmt.Sprintf("version %d, fingerprint %s", p.Version, p.Fingerprint))
	}
	if p := in.Plan; p != nil {
		l.add(p.SentAt, 0, p.Sent, "plan sent to the station", fmt.Sprintf("version %d", p.Version))
		l.step(p.DeliveredAt, "desk", "plan on the station", "")
		l.step(p.TakenAt, "desk", "plan taken by the station", "")
	}
	for _, s := range in.Screenings {
		l.add(s.At, 0, s.By, "screening", string(s.Result.Verdict))
	}
	for _, a := range in.Attentions {
		l.attention(a)
	}
	for _, h := range in.Holds {
		l.add(h.Since, 0, "desk", "tag held", reasonWords(h.Reason))
		l.step(h.Cleared, h.ClearedBy, "hold cleared", h.Note)
	}
	in.aroundMoments(l)
	slices.SortStableFunc(l.all, func(a, b Moment) int { return a.sort.Compare(b.sort) })
	return nonNil(l.all), nil
}

func (l *line) attention(a store.Attention) {
	l.add(a.Raised, a.Within, "station", "staff needed", reasonWords(a.Reason))
	l.add(a.Delivered, 0, "desk", "reached the desk", reasonWords(a.Reason))
	l.step(a.Shown, "desk", "first on a page", "")
	l.step(a.Acknowledged, a.AcknowledgedBy, "acknowledged", "")
	l.step(a.Going, a.GoingBy, "on the way", "")
	l.step(a.Told, "station", "said that help is coming", "")
	l.step(a.Closed, a.ClosedBy, "closed", joined("; ", strings.TrimRight(a.Done, ". "), strings.TrimRight(a.Ended, ". ")))
}

// aroundMoments are those of staff, tests, gaps and the audit trail.
func (in Incident) aroundMoments(l *line) {
	for _, d := range in.OnDuty {
		l.add(d.From, 0, d.Name, "logged in", string(d.Role))
		l.add(d.To, 0, d.Name, "logged out, or last seen", string(d.Role))
	}
	for _, t := range in.SelfTests {
		what := "self-test: something wrong"
		if t.OK {
			what = "self-test: nothing wrong"
		}
		l.add(t.At, 0, "station", what, joined("; ", t.Findings...))
	}
	for _, b := range in.Breaks {
		l.add(b.At, 0, "desk", "log broken", fmt.Sprintf("%s, at entry %d of epoch %s", b.What, b.Seq, b.Epoch))
	}
	for _, g := range in.Gaps { // those of the log stand there already
		l.add(g.From, 0, "desk", "gap begins: "+g.What, "")
		l.add(g.To, 0, "desk", "gap ends: "+g.What, "")
	}
	for _, c := range in.Contacts {
		l.add(c.At, c.Within, "desk", "clocks compared", fmt.Sprintf("the station's clock stood at %d ns after its boot %s", c.MonoNS, c.Boot))
	}
	for _, a := range in.Audit {
		l.add(a.At, 0, a.By, a.Action, joined(": ", a.Subject, a.Detail))
	}
}

// logMoments are the entries.
func (in Incident) logMoments(l *line) error {
	last, boot := time.Time{}, ""
	for _, e := range in.Entries {
		got, err := e.read()
		if err != nil {
			return err
		}
		m := Moment{WithinS: coach.Seconds(e.Within).String(), Who: "station", What: kindWords(got.Kind),
			Detail: in.Clinic.detail(got, e.Line), Epoch: e.Epoch, Seq: e.Seq, sort: last}
		if got.Kind == coach.EntryStart && boot != "" && got.Boot != boot {
			m.Detail = joined("; ", "the device had been off, or was started anew", m.Detail)
		}
		boot = got.Boot
		if got.Session != "" {
			m.SampleS = coach.Seconds(got.Sample.Time()).String()
		}
		if got.Wall != nil {
			m.At, m.sort = in.Clinic.stamp(*got.Wall), *got.Wall
			last = *got.Wall
		}
		l.all = append(l.all, m)
	}
	return nil
}

// Timing is how long something took.
type Timing struct {
	What  string `json:"what"`
	TookS string `json:"took_s"` // seconds, with three decimals
}

// timings are how fast the station acted, and how fast people did.
func (in Incident) timings() []Timing {
	out := []Timing{}
	add := func(what string, took time.Duration) { out = append(out, Timing{what, coach.Seconds(took).String()}) }
	for _, e := range in.Entries {
		got, err := e.read()
		if err != nil || got.Session != in.Session {
			continue
		}
		switch d := got.Data.(type) {
		case *coach.PressData:
			if d.Button == coach.Stop {
				add("red button pressed until it took effect", (d.At - d.Heard).Time())
			}
		case *coach.QuestionData:
			add("question "+d.ID+" until answered", time.Duration(d.AfterS))
		}
	}
	for _, a := range in.Attentions {
		for _, s := range attentionTimings(a) {
			add(reasonWords(a.Reason)+": "+s.what, s.took)
		}
	}
	return out
}

type took struct {
	what string
	took time.Duration
}

// attentionTimings are how long each step took from when it was raised.
func attentionTimings(a store.Attention) []took {
	var out []took
	if a.Raised.IsZero() {
		return nil
	}
	step := func(what string, at *time.Time) {
		if at != nil && !at.IsZero() {
			out = append(out, took{"raised until " + what, at.Sub(a.Raised)})
		}
	}
	step("it reached the desk", &a.Delivered)
	step("it was on a page", a.Shown)
	step("it was acknowledged", a.Acknowledged)
	step("somebody was on the way", a.Going)
	step("the patient was told so", a.Told)
	step("it was closed", a.Closed)
	return out
}

func screeningLine(l screening.Line) string {
	s := fmt.Sprintf("%s: %s", l.Verdict, l.What)
	if l.Limit != "" {
		s += "; limit " + l.Limit
	}
	if l.Advice != "" {
		s += ". " + l.Advice
	}
	return s
}

// joined joins what is not empty.
func joined(by string, parts ...string) string {
	out := ""
	for _, p := range parts {
		switch {
		case p == "":
		case out == "":
			out = p
		default:
			out += by + p
		}
	}
	return out
}
