package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"runtime/debug"
	"sync"
	"sync/atomic"
	"time"

	"github.com/coreos/go-systemd/v22/daemon"
	"github.com/spf13/cobra"

	shared "evenbell/cmd/program"
	"evenbell/coach/journal"
	"evenbell/coach/station"
)

func (p *program) run() *cobra.Command {
	var file string
	c := &cobra.Command{
		Use:   "run --config station.toml",
		Short: "Be the device: button box, sound, log",
		Long: `Run is the station at work: it waits for a person, finds out who it is, coaches
the session of the approved plan, and comes back. It prints "logged EPOCH SEQ"
on standard output after each durable commit, and its own log on standard error.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return p.runStation(c.Context(), file) },
	}
	c.Flags().StringVar(&file, "config", "", "the station's own `FILE`, station.toml")
	_ = c.MarkFlagRequired("config")
	return c
}

// readConfig reads station.toml and says its warnings.
func (p *program) readConfig(file string) (*station.Config, error) {
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, failed(fmt.Errorf("reading the station's file: %w", err))
	}
	cfg, faults := station.ReadConfig(file, text)
	if cfg == nil {
		return nil, invalid(faults)
	}
	shared.Print(p.stderr, faults)
	return cfg, nil
}

// giveBackEvery is how often a station at work gives back the memory it no
// longer uses. It needs little at any moment and much for a moment: to decode,
// to read a plan, to look around. The audio goroutine goes on meanwhile.
const giveBackEvery = 10 * time.Second

func giveBack(ctx context.Context) {
	tick := time.NewTicker(giveBackEvery)
	defer tick.Stop()
	for {
		select {
		case <-tick.C:
			debug.FreeOSMemory()
		case <-ctx.Done():
			return
		}
	}
}

func (p *program) runStation(ctx context.Context, file string) error {
	cfg, err := p.readConfig(file)
	if err != nil {
		return err
	}
	log := slog.New(slog.NewTextHandler(p.stderr, nil)).With("station", cfg.Name)
	box, err := cfg.OpenBox(p.stdin, log)
	if err != nil {
		return failed(fmt.Errorf("the button box: %w", err))
	}
	defer box.Close()
	lamps, err := cfg.OpenLamps()
	if err != nil {
		log.Error("the lamps can't be lit", "error", err) // lamps are not worth a session
		lamps = nil
	}
	if lamps != nil {
		defer lamps.Close()
	}
	beats := &heartbeat{log: log}
	d := &station.Device{Config: cfg, Box: box, Lamps: lamps, Program: programFingerprint(), Log: log,
		Logged: func(at journal.Position) { fmt.Fprintf(p.stdout, "logged %s %d\n", at.Epoch, at.Seq) },
		Beat:   beats.beat}
	watch, stop := context.WithCancel(ctx)
	var beside sync.WaitGroup
	beside.Go(func() { beats.watch(watch) })
	beside.Go(func() { giveBack(watch) })
	err = d.Run(ctx)
	stop()
	beside.Wait()
	if err != nil {
		return failed(err)
	}
	return nil
}

// heartbeat tells the service manager that the audio loop is alive: ready
// once it has played a first block, and again and again while it goes on, so
// that a hung loop is restarted.
type heartbeat struct {
	log   *slog.Logger
	beats atomic.Int64
}

// beat is called by the audio goroutine and does not wait.
func (h *heartbeat) beat() { h.beats.Add(1) }

// watch passes beats on until ctx is done.
func (h *heartbeat) watch(ctx context.Context) {
	every, err := daemon.SdWatchdogEnabled(false)
	if err != nil || every <= 0 {
		every = 10 * time.Second
	}
	const soon = 20 * time.Millisecond
	tick := time.NewTicker(soon)
	defer tick.Stop()
	last, ready := int64(0), false
	for {
		select {
		case <-ctx.Done():
			h.notify(daemon.SdNotifyStopping)
			return
		case <-tick.C:
		}
		n := h.beats.Load()
		if n == last {
			continue
		}
		last = n
		if !ready {
			ready = true
			h.notify(daemon.SdNotifyReady)
			tick.Reset(every / 4)
		}
		h.notify(daemon.SdNotifyWatchdog)
	}
}

func (h *heartbeat) notify(state string) {
	if _, err := daemon.SdNotify(false, state); err != nil {
		h.log.Warn("telling the service manager", "state", state, "error", err)
	}
}

func (p *program) selftest() *cobra.Command {
	var file string
	c := &cobra.Command{
		Use:   "selftest --config station.toml",
		Short: "Try speaker, buttons, lamps, disk, clock and link",
		Long: `Selftest tries the parts of the device one after the other, with a person beside
it who presses each button in turn and looks at the lamps. It prints one line
for each part and exits with 1 if any failed. The station must not be running.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return p.testStation(c.Context(), file) },
	}
	c.Flags().StringVar(&file, "config", "", "the station's own `FILE`, station.toml")
	_ = c.MarkFlagRequired("config")
	return c
}

func (p *program) testStation(ctx context.Context, file string) error {
	cfg, err := p.readConfig(file)
	if err != nil {
		return err
	}
	box, err := cfg.OpenBox(p.stdin, slog.New(slog.NewTextHandler(p.stderr, nil)))
	if err != nil {
		return failed(fmt.Errorf("the button box: %w", err))
	}
	defer box.Close()
	lamps, err := cfg.OpenLamps()
	if err != nil {
		return failed(fmt.Errorf("the lamps: %w", err))
	}
	if lamps != nil {
		defer lamps.Close()
	}
	passed := cfg.SelfTest(ctx, box, lamps,
		func(s string) { p.say("%s", s) },
		func(f station.Finding) { fmt.Fprintln(p.stdout, f) })
	if !passed {
		return failed(errors.New("the self-test found something wrong"))
	}
	return nil
}
