package record

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/dose"
	"evenbell/coach/journal"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
	"evenbell/coach/screening"
)

var berlin = func() *time.Location {
	z, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		panic(err)
	}
	return z
}()

// clinic is invented, and types what no table or page may take as its own.
func clinic() Clinic {
	return Clinic{Name: "Quayside Heart Health", Telephone: "020 555 0199", Zone: berlin}
}

// planText is a programme of one patient with dumbbells in both units, bands,
// the body, sides and sets.
const planText = `format = "day-plan/1"
day    = 2026-03-02
until  = 2026-03-29
clinic = "Quayside Heart Health"
voice  = "en"
unit   = "kg"

[[patient]]
tag       = "K4"
part      = "whole"
warm_up   = 300
cool_down = 300

[[patient.precaution]]
kind  = "knee"
side  = "left"
until = 2026-05-01

[[patient.item]]
exercise = "biceps-curl"
stage    = "seated"
side     = "alternating"
sets     = 2
reps     = 10
load     = "2.5 kg"

[[patient.item]]
exercise = "hamstring-curl"
stage    = "seated"
side     = "right"
reps     = 10
load     = "band 1"

[[patient.item]]
exercise = "lateral-raise"
stage    = "seated"
reps     = 10
load     = "5 lb"

[[patient.item]]
exercise = "seated-heel-raise"
reps     = 12
load     = "body"
`

func readPlan(t testing.TB) (*plan.Plan, []string) {
	t.Helper()
	p, faults := plan.Read("programme.toml", []byte(planText), protocol.Default())
	require.Empty(t, coach.Errors(faults))
	var warnings []string
	for _, f := range faults {
		warnings = append(warnings, f.String())
	}
	return p, warnings
}

func stamped(t testing.TB, n int, start time.Time, entries []coach.Entry) []Entry {
	t.Helper()
	epoch := fmt.Sprintf("%032x", n)
	stamp := journal.NewStamp(epoch, "0d4c9a5e-0000-4000-8000-000000000001", fmt.Sprintf("0198c0de-0000-7000-8000-%012d", n), &start, 5e9)
	all := []coach.Entry{stamp.Start(coach.StartData{})}
	for _, e := range entries {
		all = append(all, stamp.Next(e))
	}
	var out []Entry
	var hash journal.Hash
	for _, e := range all {
		line, err := journal.Line(e)
		require.NoError(t, err)
		hash = hash.Next(line)
		kept := store.Entry{Station: 1, Record: journal.Record{Position: journal.Position{Epoch: e.Epoch, Seq: e.Seq}, Line: line, Hash: hash},
			Session: e.Session, Tag: e.Tag, Kind: e.Kind, Received: start.Add(time.Hour)}
		if e.Wall != nil {
			kept.At = *e.Wall
		}
		out = append(out, Entry{kept, "Bay 3"})
	}
	return out
}

func day(n int) time.Time { return time.Date(2026, 3, 2+n, 8, 0, 0, 0, time.UTC) }

func num(v float64) *float64 { return &v }
func yes() *bool             { v := true; return &v }
func at(t time.Time) *time.Time {
	return &t
}

// chart is a patient with two sessions, the second stopped, and everything
// that can stand around them.
func chart(t testing.TB) Chart {
	t.Helper()
	p, warnings := readPlan(t)
	entries := append(played(t, 1, day(0), 0), played(t, 2, day(2), 3)...)
	sessions, _, err := Read(entries, berlin)
	require.NoError(t, err)
	require.Len(t, sessions, 2)
	curl := coach.Dose{Load: coach.Dumbbell(2500, coach.Kilogram), Reps: 10, Sets: 2, Stage: "seated"}
	more := curl
	more.Reps = 12
	require.NotEmpty(t, sessions[1].Events)
	stop := sessions[1].Events[0].At
	prop := dose.Proposal{Exercise: "biceps-curl", Action: dose.Reps, Rule: dose.RuleBuild, From: curl, To: more,
		Reasons: []string{"two sessions led to their end", "five or more left"}, Sessions: []dose.Session{{IDs: []string{sessions[0].ID}, At: day(0), Dose: curl}},
		Finding: "an effort of five or more"}
	return Chart{Clinic: clinic(), Made: day(3),
		Patient: store.Patient{ID: 7, Tag: "K4", Name: "Søren Łukasz Muñoz", Record: store.Record{Born: "1958-06-04",
			Events:      []store.PastEvent{{Day: "2026-01-10", What: "bypass surgery"}},
			Precautions: []coach.Precaution{{Kind: coach.KneeTrouble, Side: coach.Left, Until: "2026-05-01"}, {Kind: coach.Sternum, Since: "2026-01-10", Until: "2026-03-01"}}}},
		Prescriptions: []Prescription{
			{Prescription: store.Prescription{ID: 11, Version: 1, Text: planText, Fingerprint: p.Fingerprint(), Written: "T. Almeida", WrittenAt: day(-2),
				Approved: "R. Okafor", ApprovedAt: day(-1)}, Plan: p, Warnings: warnings, Expected: 31 * time.Minute},
			{Prescription: store.Prescription{ID: 12, Version: 2, Text: "no plan", Written: "T. Almeida", WrittenAt: day(3)}},
		},
		Sessions: sessions,
		Screenings: []store.Screening{{ID: 3, Day: "2026-03-02", By: "T. Almeida", At: day(0).Add(-10 * time.Minute),
			Today: screening.Today{Day: "2026-03-02", Well: yes(), Rest: &screening.Pressure{Systolic: 128, Diastolic: 76}, HeartRate: num(64),
				Glucose: num(6.4), WeightGain: num(0.5), Upright: &screening.Pressure{Systolic: 121, Diastolic: 74}},
			Result: screening.Result{Verdict: protocol.MayStart, Lines: []screening.Line{{Verdict: protocol.MayStart, What: "128/76 mm[Hg] at rest", Limit: "180/110"}}}}},
		Decisions: []store.Decision{
			{ID: 5, Exercise: "biceps-curl", Session: sessions[0].ID, Proposal: prop, Answer: store.Changed, To: curl, Reason: "new shoes", By: "R. Okafor", At: day(3)},
			{ID: 6, Exercise: "biceps-curl", Proposal: prop, Answer: store.Declined, To: curl, Reason: "waits", By: "R. Okafor", At: day(3), Undone: true},
		},
		Proposals: []Proposed{{prop, "2026-03-05"}},
		Attentions: []store.Attention{{ID: 9, Reason: store.StopPressed, Tag: "K4", Session: sessions[1].ID, Symptom: "dizzy",
			Raised: stop, Delivered: stop.Add(200 * time.Millisecond), Shown: at(stop.Add(400 * time.Millisecond)),
			Acknowledged: at(stop.Add(7 * time.Second)), AcknowledgedBy: "T. Almeida", Going: at(stop.Add(8 * time.Second)), GoingBy: "T. Almeida",
			Told: at(stop.Add(9 * time.Second)), Closed: at(stop.Add(11 * time.Minute)), ClosedBy: "R. Okafor", Done: "sat down, pressure taken.", Ended: "went home well"}},
	}
}

func written(t testing.TB, c Chart) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, FHIR(&b, c))
	return b.Bytes()
}

func lines(s string) []string { return strings.Split(strings.TrimRight(s, "\r\n"), "\r\n") }
