package web

import (
	"fmt"
	"slices"
	"strconv"

	"github.com/pelletier/go-toml/v2"

	"evenbell/coach"
)

// classText is a class file, class/1, as the form writes it. The desk reads it
// strictly and says what is wrong.
type classText struct {
	Format   string        `toml:"format"`
	Begins   string        `toml:"begins"`
	Walk     int           `toml:"walk"`
	WarmUp   classArea     `toml:"warm_up"`
	CoolDown classArea     `toml:"cool_down"`
	Place    []classPlace  `toml:"place"`
	Patient  []classMember `toml:"patient"`
}

type classArea struct {
	Capacity int `toml:"capacity"`
}

type classPlace struct {
	Name      string   `toml:"name"`
	Positions []string `toml:"positions"`
	Loads     []string `toml:"loads,omitempty"`
}

type classMember struct {
	Tag string `toml:"tag"`
}

// readClassText reads one that a form has written before.
func readClassText(s string) (c classText, err error) {
	if err := toml.Unmarshal([]byte(s), &c); err != nil {
		return c, fmt.Errorf("reading a class: %w", err)
	}
	return c, nil
}

// text is the class that the form describes, with what is wrong with it noted
// in the form.
func (n *newClassView) text() string {
	f := n.Form
	c := classText{Format: "class/1", Begins: f.need("begins", "Say when the class begins, such as 09:30.")}
	if _, err := coach.ParseTimeOfDay(c.Begins); c.Begins != "" && err != nil {
		f.fault("begins", "%q is no time of day; such as 09:30.", c.Begins)
	}
	c.Walk = n.whole("walk", 0, 600, "seconds")
	c.WarmUp.Capacity = n.whole("warm_up", 1, 100, "people")
	c.CoolDown.Capacity = n.whole("cool_down", 1, 100, "people")
	for _, p := range n.People {
		if f.Has("tag", p.Value) {
			c.Patient = append(c.Patient, classMember{p.Value})
		}
	}
	if len(c.Patient) == 0 {
		f.fault("tag", "Choose who comes; at least one.")
	}
	for _, p := range n.Places {
		if !f.Has("place", fmt.Sprint(p.ID)) {
			continue
		}
		positions, loads := f.Values[fmt.Sprintf("positions-%d", p.ID)], f.Values[fmt.Sprintf("loads-%d", p.ID)]
		if len(positions) == 0 {
			f.fault(fmt.Sprintf("positions-%d", p.ID), "Say how one can exercise at %s; at least one way.", p.Name)
		}
		c.Place = append(c.Place, classPlace{p.Name, slices.Clone(positions), slices.Clone(loads)})
	}
	if len(c.Place) == 0 {
		f.fault("place", "Choose the stations of the class; at least one.")
	}
	out, err := toml.Marshal(c)
	if err != nil {
		f.fault("", "The class could not be written: %v.", err)
	}
	return string(out)
}

// whole is a whole number of a field.
func (n *newClassView) whole(name string, least, most int, of string) int {
	x, err := strconv.Atoi(n.Form.Get(name))
	if err != nil || x < least || x > most {
		n.Form.fault(name, "%q is not allowed; whole %s from %d to %d.", n.Form.Get(name), of, least, most)
		return least
	}
	return x
}
