package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"sort"
	"strings"
	"time"

	"github.com/google/renameio/v2"
	"github.com/spf13/cobra"

	shared "evenbell/cmd/program"
	"evenbell/coach"
	"evenbell/coach/circuit"
	"evenbell/coach/class"
	"evenbell/coach/plan"
	"evenbell/coach/protocol"
)

// timetableFlags are the command's options.
type timetableFlags struct {
	out, picture, bare string
	protocol           string
	asJSON             bool
	budget             time.Duration
	seed               uint64
}

func (p *program) timetable() *cobra.Command {
	var f timetableFlags
	c := &cobra.Command{
		Use:   "timetable CLASS.toml",
		Short: "Who is at which place when, for a class",
		Long: `Timetable reads a class (format class/1: a day plan, the places, who comes when)
and says who is at which place when, so that nobody queues, everybody rests as
prescribed and the class ends soonest; then one line per patient for the wall.
The bound it prints is a time no timetable can beat.

With --out it writes one day plan per station. They carry the fingerprint of the
plan they were made from: its approval holds only while no dose is changed.

With --bare it reads {"seconds": [[patient × place]], "rest": 0, "walk": 0} from a
file (- for standard input) and gives {"span", "bound", "start"}; 0 seconds means
not visited, and such a visit's start is written 0.`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			switch {
			case f.budget <= 0:
				return errors.New("--budget: a time more than 0, such as 2s")
			case f.bare != "" && len(args) == 0:
				return p.bareTimetable(f)
			case f.bare != "" || len(args) == 0:
				return errors.New("name either a CLASS.toml or --bare F.json")
			}
			return p.classTimetable(args[0], f)
		},
	}
	c.Flags().StringVar(&f.out, "out", "", "write one day plan per station into `DIR`")
	c.Flags().StringVar(&f.picture, "picture", "", "draw the timetable by place and by patient into `F.svg`")
	c.Flags().StringVar(&f.bare, "bare", "", "solve the bare matrix in `F.json`")
	protocolFlag(c, &f.protocol)
	c.Flags().BoolVar(&f.asJSON, "json", false, "print JSON")
	c.Flags().DurationVar(&f.budget, "budget", 2*time.Second, "how long to search at most")
	c.Flags().Uint64Var(&f.seed, "seed", 1, "of the search")
	c.MarkFlagsMutuallyExclusive("bare", "out")
	c.MarkFlagsMutuallyExclusive("bare", "picture")
	c.MarkFlagsMutuallyExclusive("bare", "protocol")
	return c
}

// solve searches for as long as the budget lasts.
func solve(prob *circuit.Problem, f timetableFlags) (*circuit.Timetable, error) {
	until := time.Now().Add(f.budget - f.budget/20)
	t, err := circuit.Solve(prob, circuit.Options{Seed: f.seed, Iterations: 1 << 40,
		Stop: func() bool { return time.Now().After(until) }})
	if err != nil {
		return t, failed(err)
	}
	return t, nil
}

// bareProblem is what --bare reads.
type bareProblem struct {
	Seconds [][]int `json:"seconds"`
	Rest    int     `json:"rest"`
	Walk    int     `json:"walk"`
}

// bareAnswer is what --bare prints.
type bareAnswer struct {
	Span  int     `json:"span"`
	Bound int     `json:"bound"`
	Start [][]int `json:"start"`
}

func (p *program) bareTimetable(f timetableFlags) error {
	in, err := p.readBare(f.bare)
	if err != nil {
		return err
	}
	prob, err := circuit.OpenShop(in.Seconds, in.Rest, in.Walk)
	if err != nil {
		return failed(fmt.Errorf("%s: %w", f.bare, err))
	}
	t, err := solve(prob, f)
	if err != nil {
		return err
	}
	out := bareAnswer{Span: t.Span, Bound: t.Bound}
	for j, row := range in.Seconds {
		starts := make([]int, len(row))
		for _, slot := range t.Slots[j] {
			starts[slot.Place] = slot.Arrive
		}
		out.Start = append(out.Start, starts)
	}
	if f.asJSON {
		return p.json(out)
	}
	fmt.Fprintf(p.stdout, "span %d, bound %d\n", out.Span, out.Bound)
	for j, row := range out.Start {
		fmt.Fprintf(p.stdout, "patient %d: %s\n", j+1, strings.Trim(fmt.Sprint(row), "[]"))
	}
	return nil
}

func (p *program) readBare(file string) (in bareProblem, err error) {
	r := p.stdin
	if file != "-" {
		f, err := os.Open(file)
		if err != nil {
			return in, failed(err)
		}
		defer f.Close()
		r = f
	}
	dec := json.NewDecoder(r)
	dec.DisallowUnknownFields()
	if err := dec.Decode(&in); err != nil {
		return in, failed(fmt.Errorf("%s: %w; write {\"seconds\": [[60, 90]], \"rest\": 0, \"walk\": 0}, whole seconds", file, err))
	}
	if _, err := dec.Token(); err != io.EOF {
		return in, failed(fmt.Errorf("%s: something stands behind the matrix; one only", file))
	}
	return in, nil
}

func (p *program) classTimetable(file string, f timetableFlags) error {
	limits, err := p.readProtocol(f.protocol)
	if err != nil {
		return err
	}
	c, err := p.readClass(file, limits)
	if err != nil {
		return err
	}
	g, err := class.Prepare(c, timings.measure(c.Plan.Voice))
	if err != nil {
		return impossible(file, err)
	}
	t, err := solve(g.Problem, f)
	if err != nil {
		return impossible(file, err)
	}
	if f.picture != "" {
		if err := renameio.WriteFile(f.picture, circuit.Picture(g.Problem, t, c.At, -1), 0o644); err != nil {
			return failed(fmt.Errorf("writing the picture: %w", err))
		}
	}
	if f.out != "" {
		if err := writePlans(g, t, f.out); err != nil {
			return err
		}
	}
	if f.asJSON {
		return p.json(asJSON(g, t))
	}
	p.showTimetable(g, t)
	return nil
}

// impossible is a class file that asks for what cannot be.
func impossible(file string, err error) error {
	if errors.Is(err, circuit.ErrImpossible) {
		return invalid([]coach.Fault{{File: file, Message: err.Error()}})
	}
	return failed(err)
}

// readClass reads a class file and the plan it names.
func (p *program) readClass(file string, limits *protocol.Protocol) (*class.Class, error) {
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, failed(err)
	}
	c, faults := class.Read(file, text, limits, func(name string) (string, []byte, error) {
		if !filepath.IsAbs(name) {
			name = filepath.Join(filepath.Dir(file), name)
		}
		text, err := os.ReadFile(name)
		return name, text, err
	})
	if c == nil {
		return nil, invalid(faults)
	}
	shared.Print(p.stderr, faults)
	return c, nil
}

// writePlans writes one day plan per station into a folder: NN-place.toml.
func writePlans(g *class.Gym, t *circuit.Timetable, dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return failed(fmt.Errorf("making the folder for the plans: %w", err))
	}
	for i := range g.Places {
		pl := g.PlanFor(t, i)
		if len(pl.Patients) == 0 {
			continue
		}
		text := plan.Write(pl)
		file := filepath.Join(dir, fmt.Sprintf("%02d-%s.toml", i+1, slug(g.Places[i].Name)))
		if _, faults := plan.Read(file, text, pl.Protocol); len(coach.Errors(faults)) > 0 {
			return invalid(coach.Errors(faults))
		}
		if err := renameio.WriteFile(file, text, 0o644); err != nil {
			return failed(fmt.Errorf("writing a plan: %w", err))
		}
	}
	return nil
}

var notInSlug = regexp.MustCompile(`[^a-z0-9]+`)

func slug(name string) string {
	return strings.Trim(notInSlug.ReplaceAllString(strings.ToLower(name), "-"), "-")
}

// showTimetable prints one line per patient, in the order of their day.
func (p *program) showTimetable(g *class.Gym, t *circuit.Timetable) {
	fmt.Fprintf(p.stdout, "begins %s, ends %s; no timetable ends before %s (%s)\n", g.At(0), g.At(t.Span), g.At(t.Bound), t.Why)
	for j, who := range g.Problem.Patients {
		var words []string
		for _, n := range inOrder(t.Slots[j]) {
			slot := t.Slots[j][n]
			words = append(words, fmt.Sprintf("%s %s", g.At(slot.Arrive), g.Problem.Places[slot.Place].Name))
		}
		fmt.Fprintf(p.stdout, "%s: %s\n", who.Tag, strings.Join(words, ", "))
	}
}

// inOrder are the indexes of slots in the order of their times.
func inOrder(slots []circuit.Slot) []int {
	out := make([]int, len(slots))
	for i := range out {
		out[i] = i
	}
	sort.SliceStable(out, func(a, b int) bool { return slots[out[a]].Arrive < slots[out[b]].Arrive })
	return out
}

// wallSlot is one visit as it is printed in JSON, seconds from the beginning.
type wallSlot struct {
	Place  string `json:"place"`
	Stands string `json:"stands,omitempty"`
	What   string `json:"what"`
	Arrive int    `json:"arrive"`
	Start  int    `json:"start"`
	End    int    `json:"end"`
}

type wallPatient struct {
	Tag    string     `json:"tag"`
	Visits []wallSlot `json:"visits"`
}

type wallTimetable struct {
	Begins   string        `json:"begins"`
	Span     int           `json:"span"`
	Bound    int           `json:"bound"`
	Because  string        `json:"because"` // of the bound
	Waiting  int           `json:"waiting"` // of all patients together
	Patients []wallPatient `json:"patients"`
}

func asJSON(g *class.Gym, t *circuit.Timetable) wallTimetable {
	out := wallTimetable{Begins: string(g.Begins), Span: t.Span, Bound: t.Bound, Because: t.Why, Waiting: t.Waiting}
	for j, who := range g.Problem.Patients {
		line := wallPatient{Tag: who.Tag, Visits: []wallSlot{}}
		for _, n := range inOrder(t.Slots[j]) {
			slot := t.Slots[j][n]
			w := wallSlot{Place: g.Problem.Places[slot.Place].Name, What: who.Visits[n].Name, Arrive: slot.Arrive, Start: slot.Start, End: slot.End}
			if slot.Place < len(g.Places) {
				w.Stands = g.Places[slot.Place].Stands
			}
			line.Visits = append(line.Visits, w)
		}
		out.Patients = append(out.Patients, line)
	}
	return out
}
