package link

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"time"
)

// KeptPlan is the desk's plan in a station's data folder, written whole. Any
// number of goroutines may use it.
type KeptPlan struct {
	dir string
	mu  sync.Mutex // guards what follows
	now keptText
}

type keptText struct {
	Format string    `json:"format"`
	Plan   Plan      `json:"plan"`
	Made   time.Time `json:"made"` // the desk's time when it last said what holds
}

const (
	keptFile    = "desk-plan.json"
	keptFormat  = "kept-plan/1"
	carriedFile = "desk-carried.json"
)

// OpenKeptPlan reads what is kept in a data folder; nothing kept is no error.
// One that can't be read counts as none, and the error says so.
func OpenKeptPlan(dir string) (*KeptPlan, error) {
	k := &KeptPlan{dir: dir}
	return k, k.Reload()
}

// Reload reads the folder anew: a plan may have been brought by stick.
func (k *KeptPlan) Reload() error {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.now = keptText{}
	text, err := os.ReadFile(filepath.Join(k.dir, keptFile))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	var t keptText
	if err == nil {
		err = decode(text, &t)
	}
	if err == nil && t.Format != keptFormat {
		err = fmt.Errorf("its format is %q, and this program reads %s", t.Format, keptFormat)
	}
	if err != nil {
		return fmt.Errorf("reading the desk's plan: %w", err)
	}
	k.now = t
	return nil
}

// Plan is the plan that is kept, the zero Plan for none.
func (k *KeptPlan) Plan() Plan {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.now.Plan
}

// Has implements PlanKeeper.
func (k *KeptPlan) Has() string {
	if p := k.Plan(); p.Version != 0 {
		return p.Hash()
	}
	return ""
}

// Keep implements PlanKeeper.
func (k *KeptPlan) Keep(p Plan, at time.Time) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.keep(keptText{keptFormat, p, at})
}

// Spoke implements PlanKeeper.
func (k *KeptPlan) Spoke(at time.Time) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	if !at.After(k.now.Made) {
		return nil
	}
	t := k.now
	t.Format, t.Made = keptFormat, at
	return k.keep(t)
}

func (k *KeptPlan) keep(t keptText) error {
	text, err := json.MarshalIndent(t, "", "  ")
	if err == nil {
		err = keepWhole(k.dir, keptFile, append(text, '\n'))
	}
	if err != nil {
		return fmt.Errorf("keeping the desk's plan: %w", err)
	}
	k.now = t
	return nil
}

// Carried is what a stick brought besides the plan, until the station has taken
// it.
type Carried struct {
	State State  `json:"state"`
	Marks []Mark `json:"marks"`
}

// TakeBundle keeps what a bundle brought, for the station to take between two
// sessions: recordings and plan first, then the rest, which the station looks for. It
// refuses one that is older than what the station has, from wherever.
func (k *KeptPlan) TakeBundle(b *DeskBundle) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	if b.Made.Before(k.now.Made) {
		return fmt.Errorf("this bundle was made on %s, and the station has a plan of %s", b.Made.UTC().Format(time.RFC3339), k.now.Made.UTC().Format(time.RFC3339))
	}
	recordings := OpenKeptRecordings(k.dir)
	for _, r := range b.Recordings {
		if err := recordings.Keep(r); err != nil {
			return err
		}
	}
	bring := b.Plan
	if b.State.KeepPlan {
		bring = k.now.Plan
	}
	if err := k.keep(keptText{keptFormat, bring, b.Made}); err != nil {
		return err
	}
	if !b.State.KeepPlan {
		if err := recordings.Only(b.State.Recordings); err != nil {
			return err
		}
	}
	if err := keepWhole(k.dir, carriedFile, append(asJSON(Carried{b.State, b.Marks}), '\n')); err != nil {
		return fmt.Errorf("keeping what the bundle brought: %w", err)
	}
	return nil
}

// TakeCarried gives what a stick brought besides a plan, false for nothing.
// done says that it was taken.
func TakeCarried(dir string) (c Carried, done func() error, ok bool, err error) {
	name := filepath.Join(dir, carriedFile)
	text, err := os.ReadFile(name)
	if errors.Is(err, fs.ErrNotExist) {
		return Carried{}, nil, false, nil
	}
	if err == nil {
		err = decode(text, &c)
	}
	if err != nil {
		return Carried{}, nil, false, fmt.Errorf("reading what a bundle brought: %w", err)
	}
	return c, func() error { return os.Remove(name) }, true, nil
}
