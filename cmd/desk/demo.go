package main

import (
	"context"
	crand "crypto/rand"
	"encoding/base32"
	"errors"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"net"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/sync/errgroup"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/clinic"
	"evenbell/coach/desk/store"
	"evenbell/coach/desk/web"
	"evenbell/coach/station"
)

// demoFlags are the options of desk demo.
type demoFlags struct {
	addr  string
	speed float64
	seed  uint64
	still bool
	weeks int
}

func (p *program) demo() *cobra.Command {
	var f demoFlags
	c := &cobra.Command{
		Use:   "demo [--addr 127.0.0.1:8080]",
		Short: "An invented clinic to look at, with two stations at work",
		Long: `Demo makes an invented clinic in a temporary folder: a dozen patients with up to
twelve weeks of sessions, each gone through by the same code that coaches people,
and reviewed, proposed and approved by the same code that staff use. Two stations
run in this process and are used by invented people, one of whom is about to press
the red button. It prints a login for each role. Nobody in it is real, and all of
it is gone when it ends.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if !loopback(f.addr) {
				return fmt.Errorf("--addr %s: the demo is for this machine only, such as 127.0.0.1:8080", f.addr)
			}
			if f.speed < 1 || f.speed > 60 {
				return fmt.Errorf("--speed %g: from 1 to 60", f.speed)
			}
			if f.weeks < 2 || f.weeks > 12 {
				return fmt.Errorf("--weeks %d: from 2 to 12", f.weeks)
			}
			return p.runDemo(c.Context(), f)
		},
	}
	c.Flags().StringVar(&f.addr, "addr", "127.0.0.1:8080", "the address to serve the pages on, `HOST:PORT`")
	c.Flags().Float64Var(&f.speed, "speed", 8, "how many `TIMES` faster than real time the two stations run")
	c.Flags().Uint64Var(&f.seed, "seed", 1, "another `NUMBER` makes another past")
	c.Flags().IntVar(&f.weeks, "weeks", 12, "how many `WEEKS` of past there are at most")
	c.Flags().BoolVar(&f.still, "still", false, "without the two stations")
	return c
}

// demoStaff are the invented clinic's staff.
var demoStaff = []struct {
	name string
	role store.Role
}{{"R. Okafor", store.Supervisor}, {"J. Lindqvist", store.Assistant}, {"P. Amsel", store.Admin}}

// invented is the demo's clinic, ready to be served.
type invented struct {
	*opened
	clock    *clinic.Clock
	past     *clinic.Past
	password string
}

func (p *program) runDemo(ctx context.Context, f demoFlags) (err error) {
	dir, err := os.MkdirTemp("", "evenbell-demo-")
	if err != nil {
		return failed(err)
	}
	defer os.RemoveAll(dir)
	on, err := (&net.ListenConfig{}).Listen(ctx, "tcp", f.addr)
	if err != nil {
		return failed(err)
	}
	fmt.Fprintln(p.stderr, "Inventing a clinic and its weeks; this takes a few seconds.")
	in, err := p.invent(ctx, dir+"/desk", f)
	if err != nil {
		return failed(errors.Join(err, on.Close()))
	}
	defer func() { err = errors.Join(err, in.store.Close()) }()
	return failedUnless(p.serveDemo(ctx, in, f, on, dir))
}

func failedUnless(err error) error {
	if err == nil {
		return nil
	}
	return failed(err)
}

// welcome says where to look and how to log in.
func (p *program) welcome(addr, password string) {
	fmt.Fprintf(p.stdout, "serving http://%s\n", addr)
	for _, m := range demoStaff {
		fmt.Fprintf(p.stdout, "log in as %-13s (%s), password %s\n", m.name, m.role, password)
	}
	fmt.Fprintln(p.stderr, `
Everybody in this clinic is invented. Two stations are at work: the person at
Bay 1 is about to press the red button, and the front page will be loud about it.
This paces and records. It is no monitor and no alarm system; local protocol and
licensed staff decide. Ctrl-C ends the demo, and everything in it is gone.`)
}

// invent makes the clinic and its past.
func (p *program) invent(ctx context.Context, dir string, f demoFlags) (*invented, error) {
	s, err := store.Open(ctx, dir)
	if err != nil {
		return nil, err
	}
	in := &invented{clock: &clinic.Clock{}}
	fail := func(err error) (*invented, error) { return nil, errors.Join(err, s.Close()) }
	key, err := desk.OpenKey(ctx, s)
	if err != nil {
		return fail(err)
	}
	in.opened = &opened{store: s, key: key, who: atConsole(), Desk: desk.New(desk.Config{Alone: true, Store: s, Now: in.clock.Now,
		Length: timings.session, Recorder: lineRecorder, Log: slog.New(slog.DiscardHandler), Fingerprint: key.Fingerprint()})}
	zone, err := time.LoadLocation(clinic.Zone)
	if err != nil {
		return fail(err)
	}
	today := coach.DayOf(time.Now().In(zone))
	in.clock.Set(today.AddDays(-7 * 14).Time()) // the past begins after this
	if in.past, err = in.begin(ctx, today, zone, f); err != nil {
		return fail(err)
	}
	voice, err := station.OpenVoice("en")
	if err != nil {
		return fail(err)
	}
	defer voice.Close()
	speaker, err := voice.Patiently()
	if err != nil {
		return fail(err)
	}
	in.past.Speech, in.past.Start = speaker, coach.SessionStartData{Voice: voice.Fingerprint(), Program: "demo"}
	in.past.Say = sayLine
	if err := in.past.Make(ctx); err != nil {
		return fail(fmt.Errorf("inventing the past: %w", err))
	}
	in.clock.Free()
	return in, nil
}

// begin makes the staff, each with the same new password.
func (in *invented) begin(ctx context.Context, today coach.Day, zone *time.Location, f demoFlags) (*clinic.Past, error) {
	raw := make([]byte, 10)
	if _, err := crand.Read(raw); err != nil {
		return nil, err
	}
	in.password = strings.ToLower(base32.StdEncoding.EncodeToString(raw))
	past := &clinic.Past{Desk: in.Desk, Link: in.Desk.Link(), Clock: in.clock, Today: today, Zone: zone,
		Weeks: f.weeks, Rand: rand.New(rand.NewPCG(f.seed, 0))}
	as := []*desk.Actor{&past.Supervisor, &past.Assistant, &past.Admin}
	for i, m := range demoStaff {
		made, err := in.AddStaff(ctx, in.who, m.name, m.role, in.password)
		if err != nil {
			return nil, fmt.Errorf("adding %s: %w", m.name, err)
		}
		*as[i] = desk.Actor{ID: made.ID, Name: made.Name, Role: m.role}
	}
	return past, nil
}

// serveDemo serves the pages, and the link for the two stations, until ctx is
// done.
func (p *program) serveDemo(ctx context.Context, in *invented, f demoFlags, on net.Listener, dir string) error {
	if err := in.store.Serve(); err != nil {
		return errors.Join(err, on.Close())
	}
	log := slog.New(slog.NewTextHandler(p.stderr, &slog.HandlerOptions{Level: slog.LevelWarn}))
	pages, err := p.pages(in.opened, true)
	if err != nil {
		return errors.Join(err, on.Close())
	}
	p.welcome(on.Addr().String(), in.password)
	work, ctx := errgroup.WithContext(ctx)
	work.Go(func() error {
		return (&desk.Server{Desk: in.Desk, Key: in.key, Pages: pages, Log: log}).Serve(ctx, on)
	})
	if !f.still {
		work.Go(func() error { return p.playDemo(ctx, in, f.speed, dir, log) })
	}
	if err := work.Wait(); err != nil && ctx.Err() == nil {
		return err
	}
	return nil
}

// pages makes the staff pages.
func (p *program) pages(d *opened, plain bool) (*web.Site, error) {
	pages, err := web.New(web.Options{Desk: d.Desk, Plain: plain, Sound: pageSound, Replay: pageSound})
	if err != nil {
		return nil, fmt.Errorf("making the pages: %w", err)
	}
	return pages, nil
}
