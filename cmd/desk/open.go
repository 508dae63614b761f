package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os/user"

	"github.com/spf13/cobra"

	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/link"
)

// dataFlag asks for the desk's data folder.
func dataFlag(c *cobra.Command, to *string) {
	c.Flags().StringVar(to, "data", "", "the desk's data folder `DIR`")
	_ = c.MarkFlagRequired("data")
}

// opened is a desk over its data folder, also while another process serves it.
type opened struct {
	*desk.Desk
	store *store.Store
	key   link.Key
	who   desk.Actor // the person at the command line
}

// open opens the desk in a folder, laid out first where there is none.
func (p *program) open(ctx context.Context, dir string) (*opened, error) {
	s, err := store.Open(ctx, dir)
	if err != nil {
		return nil, failed(fmt.Errorf("opening the desk in %s: %w", dir, err))
	}
	key, err := desk.OpenKey(ctx, s)
	if err != nil {
		return nil, failed(errors.Join(err, s.Close()))
	}
	return &opened{store: s, key: key, who: atConsole(),
		Desk: desk.New(desk.Config{Store: s, Length: timings.session, Recorder: lineRecorder, Log: slog.New(slog.NewTextHandler(p.stderr, nil)), Fingerprint: key.Fingerprint()})}, nil
}

// with opens the desk for one command and closes it again.
func (p *program) with(ctx context.Context, dir string, do func(*opened) error) error {
	d, err := p.open(ctx, dir)
	if err != nil {
		return err
	}
	err = wrong(do(d))
	if closed := d.store.Close(); closed != nil && err == nil {
		err = failed(fmt.Errorf("closing the desk: %w", closed))
	}
	return err
}

// wrong is how a command ends that the desk refused: with the faults of a file,
// or as failed.
func wrong(err error) error {
	var bad desk.Faulty
	switch {
	case err == nil:
		return nil
	case errors.As(err, &bad):
		return invalid(bad.Faults)
	}
	return failed(err)
}

// atConsole is who the system says sits at the command line.
func atConsole() desk.Actor {
	u, err := user.Current()
	if err != nil {
		return desk.AtConsole("unknown")
	}
	return desk.AtConsole(u.Username)
}
