// Linkbench measures the link and the desk behind it: how long a stop takes
// from the press to a browser's open page while hundreds of stations upload,
// how many entries a second go over the real link beside what the store takes
// by itself, and how much memory the desk needs.
//
//	go run ./cmd/linkbench --stations 300
//
// The desk is the real program in a process of its own; the stations are the
// real client of the link, with their logs in memory, in this one. Both share
// the machine.
package main

import (
	"context"
	"flag"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/link"
)

// bench is what is measured, and with how much.
type bench struct {
	stations, backlog, stops int
	rate                     float64 // entries a second of each station, while stops are pressed
	seed                     uint64
	desk                     *deskProcess
	walls                    []*wall
}

// wall is one station.
type wall struct {
	tag    string
	log    *log
	client *link.Client
}

func main() {
	var b bench
	flag.IntVar(&b.stations, "stations", 300, "how many stations")
	flag.IntVar(&b.backlog, "backlog", 300, "how many entries each has to upload")
	flag.IntVar(&b.stops, "stops", 200, "how many stops are pressed")
	flag.Float64Var(&b.rate, "rate", 5, "entries a second of each station while stops are pressed")
	flag.Uint64Var(&b.seed, "seed", 1, "of the dice that say where")
	program := flag.String("desk", "", "the desk `PROGRAM`; empty: built from this source")
	flag.Parse()
	dir, err := os.MkdirTemp("", "linkbench")
	if err == nil {
		err = b.run(context.Background(), *program, dir)
		os.RemoveAll(dir)
	}
	if err != nil {
		fmt.Fprintf(os.Stderr, "linkbench: %v\n", err)
		os.Exit(1)
	}
}

func (b *bench) run(ctx context.Context, program, dir string) (err error) {
	ctx, stop := context.WithCancel(ctx)
	if b.desk, err = startDesk(ctx, program, dir); err != nil {
		stop()
		return err
	}
	var working sync.WaitGroup
	defer b.desk.stop()
	defer working.Wait()
	defer stop()
	if err := b.enrol(ctx, dir); err != nil {
		return err
	}
	if err := b.raw(ctx, filepath.Join(dir, "raw")); err != nil {
		return err
	}
	if err := b.upload(ctx, &working); err != nil {
		return err
	}
	if err := b.press(ctx, &working); err != nil {
		return err
	}
	now, most, err := b.desk.memory()
	fmt.Printf("desk memory with %d stations: %.0f MB now, %.0f MB at most\n", b.stations, now, most)
	return err
}

// enrol lets all stations in, by codes.
func (b *bench) enrol(ctx context.Context, dir string) error {
	begun := time.Now()
	for n := range b.stations {
		name := fmt.Sprintf("Bay %d", n+1)
		code, _, _, err := b.desk.beside.Code(ctx, desk.AtConsole("linkbench"), name)
		if err != nil {
			return err
		}
		data := filepath.Join(dir, name)
		if err := os.MkdirAll(data, 0o700); err != nil {
			return err
		}
		if _, err := link.Enrol(ctx, b.desk.url, code, data); err != nil {
			return err
		}
		w := &wall{tag: fmt.Sprintf("T%d", n+1), log: newLog()}
		w.client = link.NewClient(link.Config{Data: data, URL: b.desk.url, Boot: w.log.boot, Marker: w.log, Plans: plans{},
			Open: func() (link.LogReader, error) { return w.log, nil }, Status: w.status,
			Told: func(link.State) {}, Linked: func(bool) {}, Log: slog.New(slog.DiscardHandler)})
		b.walls = append(b.walls, w)
	}
	fmt.Printf("%d stations enrolled in %.1f s\n", b.stations, time.Since(begun).Seconds())
	return nil
}

// status is that of a station where somebody exercises.
func (w *wall) status() link.Status {
	return link.Status{Program: "linkbench", Trusted: true, Session: &link.SessionStatus{ID: "session of " + w.tag, Tag: w.tag, Item: 1, Items: 8, Exercise: "biceps-curl", Set: 1, Rep: 1}}
}

func (w *wall) backlog(n int) {
	for i := range n {
		w.log.add(led(w.tag, i))
	}
}

// raw stores as many entries in batches of the same size without link or
// consequences, and then as many plain rows with nothing looked at.
func (b *bench) raw(ctx context.Context, dir string) error {
	s, err := store.Open(ctx, dir)
	if err != nil {
		return err
	}
	defer s.Close()
	st, err := s.AddStation(ctx, store.Station{Name: "Bay 1"})
	if err != nil {
		return err
	}
	w := &wall{tag: "T1", log: newLog()}
	n := min(b.stations*b.backlog, 100_000)
	w.backlog(n)
	begun, worked := time.Now(), ownWork()
	for part := range slices.Chunk(w.log.records, link.MaxBatch) {
		if _, err := s.Append(ctx, store.Batch{Station: st.ID, Records: part, Received: time.Now()}); err != nil {
			return err
		}
	}
	tell("store alone", len(w.log.records), time.Since(begun), "here", ownWork()-worked)
	begun, worked = time.Now(), ownWork()
	if err := plainRows(ctx, dir, w.log.records); err != nil {
		return err
	}
	tell("plain rows", len(w.log.records), time.Since(begun), "here", ownWork()-worked)
	return nil
}

// tell prints how fast entries went in, and the work it took.
func tell(what string, n int, took time.Duration, where string, work time.Duration) {
	fmt.Printf("%s: %d entries in %.2f s, %.0f a second; %.2f s of work %s, %.0f entries each\n",
		what, n, took.Seconds(), float64(n)/took.Seconds(), work.Seconds(), where, float64(n)/work.Seconds())
}

// upload lets all stations upload their backlogs at once.
func (b *bench) upload(ctx context.Context, working *sync.WaitGroup) error {
	var total int64
	for _, w := range b.walls {
		w.backlog(b.backlog)
		total += w.log.size()
	}
	begun, worked, deskWorked := time.Now(), ownWork(), b.desk.work()
	for _, w := range b.walls {
		working.Go(func() { w.client.Run(ctx) })
	}
	for slices.ContainsFunc(b.walls, func(w *wall) bool { n, _ := w.log.CountUnsent(); return n > 0 }) {
		time.Sleep(5 * time.Millisecond)
	}
	took := time.Since(begun)
	if n, err := b.desk.entries(ctx); err != nil || n != total {
		return fmt.Errorf("the desk has %d entries of %d: %w", n, total, err)
	}
	tell(fmt.Sprintf("link, %d stations, connecting included", b.stations), int(total), took, "at the desk", b.desk.work()-deskWorked)
	fmt.Printf("and %.2f s of work at the stations\n", (ownWork() - worked).Seconds())
	return nil
}

// press presses stops, one after the other, while all stations log on, and
// measures each from the press to a browser's open page.
func (b *bench) press(ctx context.Context, working *sync.WaitGroup) error {
	page, err := b.desk.open(ctx)
	if err != nil {
		return err
	}
	defer page.body.Close()
	for _, w := range b.walls {
		working.Go(func() { w.work(ctx, b.rate) })
	}
	time.Sleep(3 * time.Second) // until all are at it
	dice := rand.New(rand.NewPCG(b.seed, 1))
	var took []time.Duration
	missed := 0
	for n := range b.stops {
		w, tag := b.walls[dice.IntN(len(b.walls))], fmt.Sprintf("STOP%d.", n+1)
		pressed := time.Now()
		w.log.add(coach.Entry{Kind: coach.EntryStop, Session: "session of " + tag, Tag: tag})
		w.client.Logged()
		if !page.until(tag, 30*time.Second) {
			missed++
			continue
		}
		took = append(took, time.Since(pressed))
		time.Sleep(time.Duration(500+dice.IntN(500)) * time.Millisecond) // they do not come in a row
	}
	if len(took) == 0 {
		return fmt.Errorf("none of %d stops came to the page", b.stops)
	}
	slices.Sort(took)
	at := func(percent int) time.Duration {
		return took[min(len(took)-1, len(took)*percent/100)].Round(time.Millisecond)
	}
	fmt.Printf("stop press to the open page, %d stations logging %.0f entries a second together: p50 %s, p99 %s, at worst %s, %d of %d never\n",
		b.stations, b.rate*float64(b.stations), at(50), at(99), took[len(took)-1].Round(time.Millisecond), missed, b.stops)
	return nil
}

// work logs on.
func (w *wall) work(ctx context.Context, rate float64) {
	if rate <= 0 {
		return
	}
	every := time.NewTicker(time.Duration(float64(time.Second) / rate))
	defer every.Stop()
	for n := 0; ; n++ {
		select {
		case <-ctx.Done():
			return
		case <-every.C:
			w.log.add(led(w.tag, n))
			w.client.Logged()
		}
	}
}
