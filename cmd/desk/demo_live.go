package main

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"sync"
	"time"

	"golang.org/x/sync/errgroup"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/clinic"
	"evenbell/coach/link"
	"evenbell/coach/session"
	"evenbell/coach/station"
	"evenbell/hardware"
)

// actor is an invented person who uses a station of the demo.
type actor struct {
	box   *hardware.Fake
	stops bool // presses the red button in the first exercise, once

	mu     sync.Mutex
	status link.Status

	stopped bool
	came    int64 // the plan they came for
	taps    int   // to begin, for that plan
}

// mostTaps is how often a person taps at a station that begins nothing.
const mostTaps = 10

// overheard is the desk's end of the link, at which the invented people learn
// what their station waits for.
type overheard struct {
	link.Desk
	actors map[string]*actor // by station
}

// Status passes a status on, and lets the person at that station know.
func (o overheard) Status(ctx context.Context, from link.Peer, s link.Status) error {
	if a := o.actors[from.Name]; a != nil {
		a.mu.Lock()
		a.status = s
		a.mu.Unlock()
	}
	return o.Desk.Status(ctx, from, s)
}

// playDemo runs the two stations and the people at them.
func (p *program) playDemo(ctx context.Context, in *invented, speed float64, dir string, log *slog.Logger) error {
	live, err := in.past.Live(ctx)
	if err != nil {
		return fmt.Errorf("getting the stations ready: %w", err)
	}
	ears := overheard{Desk: in.Desk.Link(), actors: make(map[string]*actor)}
	for i := range live {
		ears.actors[clinic.Bays[i].Name] = &actor{box: hardware.NewFake(), stops: i == 0}
	}
	on, err := (&net.ListenConfig{}).Listen(ctx, "tcp", "127.0.0.1:0")
	if err != nil {
		return err
	}
	work, ctx := errgroup.WithContext(ctx)
	work.Go(func() error { return serveLink(ctx, in, ears, on, log) })
	for i := range live {
		bay := clinic.Bays[i].Name
		a := ears.actors[bay]
		work.Go(func() error { return a.play(ctx) })
		work.Go(func() error {
			return p.runBay(ctx, in, bay, a, speed, filepath.Join(dir, fmt.Sprintf("bay%d", i+1)), "https://"+on.Addr().String(), log)
		})
	}
	return work.Wait()
}

// serveLink serves the stations' link alone.
func serveLink(ctx context.Context, in *invented, ears link.Desk, on net.Listener, log *slog.Logger) error {
	cert, err := desk.OwnCertificate(ctx, in.store, in.key, in.Time(), desk.Hosts(on.Addr().String()))
	if err != nil {
		return errors.Join(err, on.Close())
	}
	s := &http.Server{Handler: http.NotFoundHandler(), ReadHeaderTimeout: 10 * time.Second,
		TLSConfig: &tls.Config{Certificates: []tls.Certificate{cert}, MinVersion: tls.VersionTLS12}}
	if err := link.Attach(s, in.key, link.Handler(ears, in.key, log)); err != nil {
		return errors.Join(err, on.Close())
	}
	closed := make(chan struct{})
	go func() {
		defer close(closed)
		<-ctx.Done()
		_ = s.Close() // the stations end with it
	}()
	err = s.ServeTLS(on, "", "")
	<-closed
	if errors.Is(err, http.ErrServerClosed) {
		return nil
	}
	return err
}

// runBay enrols one station and runs it.
func (p *program) runBay(ctx context.Context, in *invented, name string, a *actor, speed float64, dir, address string, log *slog.Logger) error {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	code, _, _, err := in.Code(ctx, in.past.Admin, name)
	if err != nil {
		return err
	}
	if _, err := link.Enrol(ctx, address, code, dir); err != nil {
		return fmt.Errorf("enrolling %s: %w", name, err)
	}
	text := fmt.Sprintf("format = \"station/1\"\nname = %q\ndata = %q\nintro = false\nsink = \"silent\"\nspeed = %g\nzone = %q\n[buttons]\nkind = \"keys\"\n[desk]\nurl = %q\n",
		name, dir, speed, clinic.Zone, address)
	cfg, faults := station.ReadConfig(name, []byte(text))
	if cfg == nil {
		return invalid(faults)
	}
	d := &station.Device{Config: cfg, Box: a.box, Program: "demo", Log: log.With("station", name)}
	return d.Run(ctx)
}

// play presses the buttons until ctx is done.
func (a *actor) play(ctx context.Context) error {
	look := time.NewTicker(700 * time.Millisecond)
	defer look.Stop()
	defer func() { _ = a.box.Close() }() // it never fails
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-look.C:
		}
		a.mu.Lock()
		s := a.status
		a.mu.Unlock()
		if b, ok := a.answer(s); ok {
			a.box.Press(b, hardware.Now())
		}
	}
}

// answer is what the person presses, as the station stands.
func (a *actor) answer(s link.Status) (hardware.Control, bool) {
	now := s.Session
	switch {
	case now != nil && now.Waiting == coach.QuestionSymptom:
		return hardware.Tap, true
	case s.Locked != nil, s.Boot == "":
		return "", false
	case now == nil, now.Outcome != "":
		return hardware.Tap, a.comes(s.Plan.Delivered, now != nil)
	case a.stops && !a.stopped && now.Rep >= 3:
		a.stopped = true
		return hardware.Stop, true
	}
	switch now.Waiting {
	case "", session.ForResume:
		return hardware.Tap, now.Rep > 0
	case session.ForReady, session.ForEffort:
		return hardware.Tap, true
	}
	return hardware.Plus, true
}

// comes reports whether a person begins: once for each plan that is loaded.
func (a *actor) comes(plan int64, been bool) bool {
	if plan != a.came {
		a.came, a.taps = plan, 0
	} else if been {
		a.taps = mostTaps
	}
	a.taps++
	return plan > 0 && a.taps <= mostTaps
}
