package main

import (
	"fmt"
	"time"

	"evenbell/coach/circuit"
	"evenbell/coach/station"
)

// gymClass is a class ready to be timetabled: stays[patient] stand beside the
// patient's work visits.
type gymClass struct {
	*class
	problem *circuit.Problem
	stays   [][]stay
}

// prepareClass works out who does what where, and how long it takes.
func prepareClass(c *class) (*gymClass, error) {
	voice, err := station.OpenVoice(c.Plan.Voice)
	if err != nil {
		return nil, failed(err)
	}
	defer voice.Close()
	voice.Own(c.Plan.Own)
	speaker, err := voice.Patiently()
	if err != nil {
		return nil, failed(err)
	}
	g := &gymClass{class: c, problem: c.gym()}
	load := make([]int, len(c.Places))
	for _, v := range c.Plan.Patients {
		who, err := c.Plan.Resolve(v.Tag, c.Plan.Day)
		if err != nil {
			return nil, failed(err)
		}
		stays, err := c.share(who, c.Fixed[v.Tag], load)
		if err != nil {
			return nil, failed(err)
		}
		g.stays = append(g.stays, stays)
		rest := time.Duration(0)
		for _, it := range who.Items {
			rest = max(rest, it.Pace.Rest)
		}
		g.problem.Patients = append(g.problem.Patients, circuit.Patient{Tag: v.Tag, Arrives: c.Arrives[v.Tag],
			Rest: int((rest + time.Second - 1) / time.Second), Fixed: c.Fixed[v.Tag], Visits: c.visits(who, stays, speaker)})
	}
	return g, nil
}

// gym is the places with the areas behind them, and the walks between.
func (c *class) gym() *circuit.Problem {
	p := &circuit.Problem{Latest: c.Latest}
	for _, pl := range c.Places {
		p.Places = append(p.Places, circuit.Place{Name: pl.Name, Capacity: 1})
	}
	for _, a := range []area{c.WarmUp, c.CoolDown} {
		p.Places = append(p.Places, circuit.Place{Name: a.Name, Capacity: a.Capacity})
	}
	for _, a := range p.Places {
		row := make([]int, len(p.Places))
		for i, b := range p.Places {
			switch s, said := c.Walks[[2]string{a.Name, b.Name}]; {
			case said:
				row[i] = s
			case a.Name != b.Name:
				row[i] = c.Walk
			}
		}
		p.Walk = append(p.Walk, row)
	}
	return p
}

// at writes seconds from the beginning as the time of day, with seconds.
func (c *class) at(s int) string {
	t, err := time.Parse("15:04", c.Begins)
	if err != nil {
		return fmt.Sprintf("%d s", s) // the reader let nothing else through
	}
	return t.Add(time.Duration(s) * time.Second).Format("15:04:05")
}
