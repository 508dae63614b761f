package desk

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"sync"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/review"
)

// digestAfter is how long nothing of a session must have come before its digest is
// kept: one under way would be made again and again.
const digestAfter = 10 * time.Minute

// thisProgram names the program that runs by the hash of its file, whichever
// has been installed in its place since. It is part of what a digest is of, so
// that none outlives the code that made it.
var thisProgram = sync.OnceValues(func() (string, error) {
	f, err := os.Open("/proc/self/exe")
	if err != nil {
		return "", fmt.Errorf("reading this program: %w", err)
	}
	defer f.Close()
	sum := sha256.New()
	if _, err := io.Copy(sum, f); err != nil {
		return "", fmt.Errorf("reading this program: %w", err)
	}
	return hex.EncodeToString(sum.Sum(nil)), nil
})

const digestEvery = time.Hour

// digesting keeps digests until ctx is done.
func (d *Desk) digesting(ctx context.Context) {
	every := time.NewTicker(digestEvery)
	defer every.Stop()
	for {
		if err := d.Digest(ctx); err != nil && ctx.Err() == nil {
			d.log.Error("keeping what sessions came to", "error", err)
		}
		select {
		case <-every.C:
		case <-ctx.Done():
			return
		}
	}
}

// Digest keeps what each session came to that has no digest of this program
// yet, so that a page about a patient need not read years of log. Run does it
// at its start and every hour. It takes a third of one core's time at most.
func (d *Desk) Digest(ctx context.Context) error {
	by, err := thisProgram()
	if err != nil {
		return err
	}
	tags, err := d.store.Undigested(ctx, by, d.Time().Add(-digestAfter))
	if err != nil {
		return err
	}
	var failed error
	for _, tag := range tags {
		from := time.Now()
		if err := d.digest(ctx, by, tag); err != nil { // one that fails keeps nobody else waiting
			failed = cmp.Or(failed, fmt.Errorf("the sessions of %s: %w", tag, err))
		}
		select {
		case <-time.After(2 * time.Since(from)):
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	return failed
}

func (d *Desk) digest(ctx context.Context, by, tag string) error {
	sessions, err := d.store.Sessions(ctx, store.SessionFilter{Tag: tag})
	if err != nil {
		return err
	}
	kept, err := d.store.Digests(ctx, by, tag)
	if err != nil {
		return err
	}
	var made []store.Digest
	for _, s := range sessions {
		if _, known := kept[s.Key()]; known || d.Time().Sub(s.Newest) < digestAfter {
			continue
		}
		v, err := d.digestOf(ctx, s)
		if err != nil {
			return err
		}
		text, err := json.Marshal(v)
		if err != nil {
			return err
		}
		made = append(made, store.Digest{Session: s, Text: string(text)})
	}
	return d.store.KeepDigests(ctx, by, made)
}

// digests are those of a tag's sessions: kept ones, or made of the log where
// there is none that stands.
func (d *Desk) digests(ctx context.Context, tag string, sessions []store.Session) ([]review.Digest, error) {
	by, err := thisProgram()
	if err != nil {
		return nil, err
	}
	kept, err := d.store.Digests(ctx, by, tag)
	if err != nil {
		return nil, err
	}
	out := make([]review.Digest, len(sessions))
	for i, s := range sessions {
		if text, known := kept[s.Key()]; known && json.Unmarshal([]byte(text), &out[i]) == nil {
			continue
		}
		if out[i], err = d.digestOf(ctx, s); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// digestOf reads a session's entries, and what stands between them in the log.
func (d *Desk) digestOf(ctx context.Context, s store.Session) (review.Digest, error) {
	var out []coach.Entry
	for e, err := range d.store.Entries(ctx, store.EntryFilter{Station: s.Station, Session: s.ID, Epoch: s.Epoch}) {
		if err != nil {
			return review.Digest{}, err
		}
		entry, err := dated(e)
		if err != nil {
			return review.Digest{}, err
		}
		out = append(out, entry)
	}
	return review.DigestOf(out), nil
}
