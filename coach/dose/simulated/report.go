package simulated

import (
	"fmt"
	"io"
	"math/rand/v2"
	"slices"

	"evenbell/coach/dose"
	"evenbell/coach/protocol"
)

// Tally is what one patient's year came to.
type Tally struct {
	Sessions, Short, Ups, Trials int
	Reverts                      int // steps up in load that were taken back
	Findings                     int
	// Past is the most steps by which a proposed load was over the heaviest
	// owned load that the person could truly lift for the proposed repetitions.
	Past int
	// Off is how many owned loads the last dose is from the band that the
	// rules aim for, negative where it is lighter: a load that truly allows from
	// the bottom of the range and two to the top and four, 12 to 19
	// repetitions; where no owned load does, the heaviest that allows more.
	Off int
	// Held is the longest run of visits with one dose and no finding.
	Held    int
	running int
}

// note adds one proposal to the tally.
func (c *patient) note(got dose.Proposal) {
	t := &c.tally
	if got.Finding != "" {
		t.Findings++
	}
	if got.Finding == "" && got.To == got.From {
		t.running++
	} else {
		t.running = 0
	}
	t.Held = max(t.Held, t.running)
	switch {
	case got.Rule == dose.RuleRevert && got.From.Load != got.To.Load:
		t.Reverts++
	case got.Action == dose.Up:
		t.Ups++
		t.Past = max(t.Past, c.index(got.To.Load)-c.heaviest(float64(got.To.Reps)))
	}
}

// heaviest is the place of the heaviest owned load that truly allows so many
// repetitions; -1 where none does.
func (c *patient) heaviest(reps float64) int {
	at := -1
	for i, l := range c.loads {
		if c.person.allows(l, c.person.now) >= reps {
			at = i
		}
	}
	return at
}

// finish compares the last dose with the band.
func (c *patient) finish() {
	most := c.heaviest(float64(c.p.Int(protocol.RangeBottom) + c.person.m.TrialLeft))
	least := min(c.heaviest(float64(c.p.Int(protocol.RangeTop)+fewMost+1))+1, most)
	switch i := c.index(c.planned.Load); {
	case i > most:
		c.tally.Off = i - max(most, 0)
	case i < least:
		c.tally.Off = i - least
	}
}

// fewMost is the most that the answer two to four can mean.
const fewMost = 4

// Report sums up many patients' years.
type Report struct {
	Patients []Tally
	Unfit    int // nothing owned was light enough for them to begin with
}

// Run simulates n patients for a year each, on one generator.
func Run(m Model, p *protocol.Protocol, o dose.Owned, n int, r *rand.Rand) Report {
	var rep Report
	for range n {
		if t, ok := year(m, p, o, r); ok {
			rep.Patients = append(rep.Patients, t)
		} else {
			rep.Unfit++
		}
	}
	return rep
}

// Within is the share of patients whose last load is at most n owned loads
// from the right band.
func (r Report) Within(n int) float64 {
	return r.share(func(t Tally) bool { return t.Off >= -n && t.Off <= n })
}

// regular are those who came to three of the prescribed visits in four, or more.
func regular(r Report) Report {
	r.Patients = slices.DeleteFunc(slices.Clone(r.Patients), func(t Tally) bool {
		return t.Sessions*4 < Weeks*Standard().VisitsAWeek*3
	})
	return r
}

// Past is the most steps by which any proposal was over a person's limit.
func (r Report) Past() int {
	most := 0
	for _, t := range r.Patients {
		most = max(most, t.Past)
	}
	return most
}

// Held is the longest any dose was held without a finding, in visits.
func (r Report) Held() int {
	return slices.MaxFunc(r.Patients, func(a, b Tally) int { return a.Held - b.Held }).Held
}

func (r Report) share(f func(Tally) bool) float64 {
	n := 0
	for _, t := range r.Patients {
		if f(t) {
			n++
		}
	}
	return float64(n) / float64(len(r.Patients))
}

func (r Report) total(f func(Tally) int) int {
	n := 0
	for _, t := range r.Patients {
		n += f(t)
	}
	return n
}

// Write prints the figures, one a line.
func (r Report) Write(w io.Writer) error {
	sessions := r.total(func(t Tally) int { return t.Sessions })
	ups := r.total(func(t Tally) int { return t.Ups })
	per := float64(len(r.Patients))
	for _, line := range []struct {
		what  string
		value string
	}{
		{"patients", fmt.Sprintf("%d, and %d for whom nothing owned was light enough", len(r.Patients), r.Unfit)},
		{"sessions", fmt.Sprintf("%d, %.1f a patient", sessions, float64(sessions)/per)},
		{"last load in the right band", fmt.Sprintf("%.1f %%", 100*r.Within(0))},
		{"at most one owned load off it", fmt.Sprintf("%.1f %%", 100*r.Within(1))},
		{"at most two owned loads off it", fmt.Sprintf("%.1f %%", 100*r.Within(2))},
		{"of those with 3 visits in 4 or more", fmt.Sprintf("%.1f %%", 100*regular(r).Within(1))},
		{"too heavy by an owned load or more", fmt.Sprintf("%.1f %%", 100*r.share(func(t Tally) bool { return t.Off > 0 }))},
		{"steps up proposed", fmt.Sprintf("%d, %.1f a patient", ups, float64(ups)/per)},
		{"of these taken back", fmt.Sprintf("%d", r.total(func(t Tally) int { return t.Reverts }))},
		{"most steps past the true limit", fmt.Sprintf("%d", r.Past())},
		{"sessions with a set ended early", fmt.Sprintf("%.2f %%", 100*float64(r.total(func(t Tally) int { return t.Short }))/float64(sessions))},
		{"steps up by a trial set where stuck", fmt.Sprintf("%.1f a patient", float64(r.total(func(t Tally) int { return t.Trials }))/per)},
		{"visits with a finding", fmt.Sprintf("%.1f %%", 100*float64(r.total(func(t Tally) int { return t.Findings }))/float64(sessions))},
		{"longest hold without a finding", fmt.Sprintf("%d visits", r.Held())},
	} {
		if _, err := fmt.Fprintf(w, "%-40s %s\n", line.what, line.value); err != nil {
			return fmt.Errorf("printing the figures: %w", err)
		}
	}
	return nil
}
