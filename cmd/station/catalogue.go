package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"evenbell/audio/audibility"
	"evenbell/coach"
	"evenbell/coach/catalogue"
	"evenbell/coach/script"
)

func (p *program) catalogue() *cobra.Command {
	var asJSON, sounds bool
	ear := audibility.Listener{}
	var sex string
	c := &cobra.Command{
		Use:   "catalogue",
		Short: "List the exercises the station can coach, or how well its sounds are heard",
		Args:  cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			ear.Sex = audibility.Sex(sex)
			switch {
			case sounds && asJSON:
				return errors.New("--sounds is printed as a table; leave --json out")
			case sounds:
				return p.soundsTable(ear)
			case asJSON:
				return p.catalogueJSON()
			}
			return p.catalogueTable()
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print everything as JSON")
	c.Flags().BoolVar(&sounds, "sounds", false, "print how far each sound stands above hearing and noise")
	c.Flags().IntVar(&ear.Age, "age", 80, "with --sounds: of the listener, 18 to 80")
	c.Flags().StringVar(&sex, "sex", string(audibility.Woman), "with --sounds: of the listener, man or woman")
	c.Flags().Float64Var(&ear.NoiseDBA, "noise", 60, "with --sounds: of the room, in dB(A)")
	return c
}

func (p *program) catalogueTable() error {
	w := tabwriter.NewWriter(p.stdout, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "EXERCISE\tSTAGE\tPOSITION\tFIRST\tSIDES\tLOAD\tMUSCLES\tNOT WITH")
	for _, e := range catalogue.All() {
		for i, s := range e.Stages {
			id, muscles := e.ID, list(e.Muscles)
			if i > 0 {
				id, muscles = "", ""
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n",
				id, s.ID, s.Position, s.First, s.Sides[0], loads(s), muscles, bars(s))
		}
	}
	return w.Flush()
}

// loads says what a stage is done with, such as "2 dumbbells or body".
func loads(s coach.Stage) string {
	var out []string
	for _, k := range s.Loads {
		if k == coach.DumbbellLoad && s.Dumbbells == 2 {
			out = append(out, "2 dumbbells")
			continue
		}
		out = append(out, string(k))
	}
	return strings.Join(out, " or ")
}

func bars(s coach.Stage) string {
	var out []string
	for _, b := range s.Bars {
		out = append(out, string(b.Kind))
	}
	return strings.Join(out, ", ")
}

func list(ms []coach.Muscle) string {
	var out []string
	for _, m := range ms {
		out = append(out, string(m))
	}
	return strings.Join(out, ", ")
}

// exerciseJSON is the printed form of an exercise.
type exerciseJSON struct {
	ID       string            `json:"id"`
	Name     string            `json:"name"`
	Region   coach.Region      `json:"region"`
	Muscles  []coach.Muscle    `json:"muscles"`
	Stages   []stageJSON       `json:"stages"`
	Instead  map[string]string `json:"instead"` // precaution to exercise; "" means leave it out
	First    coach.Phase       `json:"first"`   // of the first stage
	Side     coach.Sides       `json:"side"`    // of the first stage
	Position coach.Position    `json:"position"`
}

type stageJSON struct {
	ID        string           `json:"id"`
	Name      string           `json:"name"`
	Position  coach.Position   `json:"position"`
	First     coach.Phase      `json:"first"`
	Sides     []coach.Sides    `json:"sides"`
	Loads     []coach.LoadKind `json:"loads"`
	Dumbbells int              `json:"dumbbells"`
	Range     string           `json:"range,omitempty"`
	NotWith   []barJSON        `json:"not_with"`
	SetUp     string           `json:"set_up"` // and what follows, as the English voice has it
	Care      string           `json:"care"`
	Lift      string           `json:"lift"`
	Lower     string           `json:"lower"`
	Breathe   string           `json:"breathe"`
	Remind    []string         `json:"remind"`
	Fault     string           `json:"fault"` // the common fault to avoid
}

type barJSON struct {
	Precaution coach.PrecautionKind `json:"precaution"`
	OneSided   bool                 `json:"one_sided"` // the other side alone is allowed
}

func (p *program) catalogueJSON() error {
	words, err := script.Load("en")
	if err != nil {
		return failed(err)
	}
	var out []exerciseJSON
	for _, e := range catalogue.All() {
		j := exerciseJSON{ID: e.ID, Name: e.Name, Region: e.Region, Muscles: e.Muscles, Instead: map[string]string{},
			First: e.Stages[0].First, Side: e.Stages[0].Sides[0], Position: e.Stages[0].Position}
		for k, v := range e.Instead {
			j.Instead[string(k)] = v
		}
		for _, s := range e.Stages {
			f, _ := words.Form(e.ID, s.ID)
			st := stageJSON{ID: s.ID, Name: s.Name, Position: s.Position, First: s.First, Sides: s.Sides, Loads: s.Loads,
				Dumbbells: s.Dumbbells, Range: s.Range, NotWith: []barJSON{}, SetUp: f.SetUp, Care: f.Care,
				Lift: f.Lift, Lower: f.Lower, Breathe: f.OutAs, Remind: f.Remind, Fault: f.Fault}
			for _, b := range s.Bars {
				st.NotWith = append(st.NotWith, barJSON{b.Kind, b.OneSided})
			}
			j.Stages = append(j.Stages, st)
		}
		out = append(out, j)
	}
	enc := json.NewEncoder(p.stdout)
	enc.SetIndent("", "  ")
	return enc.Encode(out)
}
