package main

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/google/renameio/v2"

	"evenbell/audio/sink"
	"evenbell/coach"
	"evenbell/coach/journal"
	"evenbell/coach/player"
	"evenbell/hardware"
)

// rehearsal is a session going on in a terminal.
type rehearsal struct {
	p     *program
	f     *rehearseFlags
	s     *prepared
	began time.Time
	live  *player.Live
	voice *player.Speaker
	view  *view
	shown display
	keys  *keyBox // nil where a willing patient answers
	wav   *sink.WAV
	cues  []coach.Cue
	log   []coach.Entry
}

// begin makes everything ready; nothing sounds yet.
func (r *rehearsal) begin(ctx context.Context, presses []coach.Press) (err error) {
	// A willing patient needs nothing typed read out, and the session stays the same
	// as rendered.
	if _, person := terminal(r.p.stdin); person {
		if err := r.s.voice.TypeFor(ctx, &r.s.prog, ""); err != nil {
			r.p.say("Not all that was typed is spoken: %v", err)
		}
	}
	if r.voice, err = r.s.voice.Speaker(r.f.speed); err != nil {
		return err
	}
	r.s.prog.Next = r.s.prog.Next.From(r.began.Local())
	cfg := r.s.config(r.voice)
	r.f.levels.set(&cfg)
	cfg.Live, cfg.Presses, cfg.Patient = true, presses, player.Willing
	if err := r.s.voice.Prepare(cfg); err != nil {
		return err
	}
	if r.f.wav != "" {
		if r.wav, err = sink.NewWAV(r.f.wav); err != nil {
			return err
		}
	}
	r.live = &player.Live{Now: hardware.Now, Speed: r.f.speed, Feed: player.NewFeed(), Record: r.wav != nil,
		Open: func() (sink.Sink, string, error) { return sink.Open(r.f.sink, r.f.speed) }}
	if r.keys, err = openKeys(r.p.stdin); err != nil {
		return err
	}
	if r.keys != nil {
		cfg.Patient = player.Absent
		r.live.Presses = r.keys.presses
	}
	r.live.Player = player.New(cfg)
	r.view = newView(&r.s.prog, r.voice.Text)
	r.shown = openDisplay(r.p.stdout, r.keys)
	return nil
}

// run plays the session to its end, or until the person leaves.
func (r *rehearsal) run(ctx context.Context) error {
	ctx, leave := context.WithCancel(ctx)
	defer leave()
	if r.keys != nil {
		go func() {
			select {
			case <-r.keys.quit:
				leave()
			case <-ctx.Done():
			}
		}()
	}
	played := make(chan error, 1)
	go func() { played <- r.live.Run(ctx) }()
	follow := r.follow()
	r.close()
	if err := errors.Join(<-played, follow); err != nil {
		return err
	}
	if r.view.outcome != "" {
		r.p.say("%s: %s after %s", r.s.prog.Tag, r.view.outcome, clock(r.view.at.Time()))
	} else if ctx.Err() != nil {
		r.p.say("Left before the session had ended.")
	}
	return r.write()
}

// follow takes in events until the session is over. At the first fault it
// stops recording, and goes on showing.
func (r *rehearsal) follow() (fault error) {
	for range r.live.Feed.More() {
		events, more := r.live.Feed.Next()
		for i := range events {
			e := &events[i]
			r.view.apply(e)
			r.cues, r.log = append(r.cues, e.Cues...), append(r.log, e.Entries...)
			if len(e.PCM) > 0 && fault == nil {
				fault = r.wav.Write(e.PCM)
			}
		}
		r.shown.show(r.view, events)
		if !more {
			return fault
		}
	}
	return fault
}

// close gives the terminal back.
func (r *rehearsal) close() {
	r.shown.close()
	if r.keys != nil {
		r.keys.close()
	}
}

// write writes what was asked for.
func (r *rehearsal) write() error {
	if r.wav != nil {
		if err := r.wav.Close(); err != nil {
			return err
		}
	}
	if err := writeWhole(r.f.cues, func(w io.Writer) error { return writeCues(w, r.cues, r.voice.Text) }); err != nil {
		return err
	}
	return writeWhole(r.f.journal, func(w io.Writer) error {
		stamp := journal.NewStamp(rand.Text(), bootID(), "rehearsal-"+rand.Text(), &r.began, int64(hardware.Now()))
		return writeJournal(w, stamp, r.log)
	})
}

// writeWhole writes a file whole or not at all; nothing where no file is named.
// It takes the place of a file alone: a device, a pipe or a folder of that
// name stays what it is.
func writeWhole(file string, write func(io.Writer) error) error {
	if file == "" {
		return nil
	}
	if target, err := filepath.EvalSymlinks(file); err == nil {
		file = target // the link stays
	}
	if info, err := os.Stat(file); err == nil && !info.Mode().IsRegular() {
		return fmt.Errorf("writing %s: it is no file; name a new or an existing file", file)
	}
	var buf bytes.Buffer
	if err := write(&buf); err != nil {
		return err
	}
	if err := renameio.WriteFile(file, buf.Bytes(), 0o644); err != nil {
		return fmt.Errorf("writing %s: %w", file, err)
	}
	return nil
}

// bootID names this run of the machine; empty where the kernel does not say.
func bootID() string {
	b, err := os.ReadFile("/proc/sys/kernel/random/boot_id")
	if err != nil {
		return ""
	}
	return strings.TrimSpace(string(b))
}
