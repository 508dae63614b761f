// Timetablebench measures the class timetable on one core: how far the span is
// from the bound and from the best known, on Taillard's open-shop instances and
// on made-up classes, how soon the first valid timetable stands, and how long a
// repair takes when somebody is late in the middle of a class.
//
//	timetablebench [--budget 2s] [--seed N] [--sizes 4,5,7,10,15,20]
package main

import (
	"flag"
	"fmt"
	"io"
	"os"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"time"

	"golang.org/x/sys/unix"

	"evenbell/coach/circuit"
	"evenbell/coach/circuit/taillard"
)

func main() {
	budget := flag.Duration("budget", 2*time.Second, "of one processor, for each timetable")
	seed := flag.Uint64("seed", 1, "of the search")
	sizes := flag.String("sizes", "4,5,7,10,15,20", "of Taillard's instances; empty for none")
	flag.Parse()
	runtime.GOMAXPROCS(1)
	b := bench{os.Stdout, *budget, *seed}
	if err := b.run(*sizes); err != nil {
		fmt.Fprintf(os.Stderr, "timetablebench: %v\n", err)
		os.Exit(1)
	}
}

type bench struct {
	out    io.Writer
	budget time.Duration
	seed   uint64
}

func (b *bench) run(sizes string) error {
	fmt.Fprintf(b.out, "one core, %v for each timetable, seed %d\n", b.budget, b.seed)
	for _, word := range strings.FieldsFunc(sizes, func(r rune) bool { return r == ',' }) {
		n, err := strconv.Atoi(word)
		if err != nil {
			return fmt.Errorf("--sizes: %w", err)
		}
		if err := b.taillard(n); err != nil {
			return err
		}
	}
	for _, patients := range []int{8, 16, 30} {
		for _, places := range []int{6, 8, 12} {
			if err := b.class(patients, places); err != nil {
				return err
			}
		}
	}
	return nil
}

// taken is one solved timetable with what it took.
type taken struct {
	*circuit.Timetable
	first, all time.Duration
}

func (b *bench) solve(p *circuit.Problem) (taken, error) {
	begun := worked()
	var t taken
	got, err := circuit.Solve(p, circuit.Options{Seed: b.seed, Iterations: 1 << 40,
		Stop: func() bool { return (worked() - begun) > b.budget },
		Found: func(int) {
			if t.first == 0 {
				t.first = (worked() - begun)
			}
		}})
	t.Timetable, t.all = got, (worked() - begun)
	return t, err
}

// taillard solves the ten instances of a size.
func (b *bench) taillard(size int) error {
	var over []float64
	atBest, proven := 0, 0
	for i, in := range taillard.Instances {
		if in.Size != size {
			continue
		}
		p, err := circuit.OpenShop(in.Seconds(), 0, 0)
		if err != nil {
			return err
		}
		t, err := b.solve(p)
		if err != nil {
			return err
		}
		gap := percent(t.Span, in.Best())
		over = append(over, gap)
		if t.Span == in.Best() {
			atBest++
		}
		if t.Optimal() {
			proven++
		}
		fmt.Fprintf(b.out, "%2d×%-2d no %2d: span %4d, bound %4d, best known %4d (%+.2f %%), first after %.1f ms, %.2f s, %d tries\n",
			size, size, i%10+1, t.Span, t.Bound, in.Best(), gap, ms(t.first), t.all.Seconds(), t.Tries)
	}
	if len(over) == 0 {
		return fmt.Errorf("--sizes: there is no %d×%d; 4, 5, 7, 10, 15 or 20", size, size)
	}
	fmt.Fprintf(b.out, "%2d×%-2d      : %d of %d at the best known, %d proven, worst %+.2f %%\n", size, size, atBest, len(over), proven, slices.Max(over))
	return nil
}

func (b *bench) class(patients, places int) error {
	p := circuit.Invented(b.seed, patients, places)
	t, err := b.solve(p)
	if err != nil {
		return err
	}
	fmt.Fprintf(b.out, "%2d patients, %2d places: span %d min, %.2f %% over the bound (%s), waiting %d s each, first after %.1f ms, %.2f s, %d tries\n",
		patients, places, t.Span/60, percent(t.Span, t.Bound), t.Why, t.Waiting/patients, ms(t.first), t.all.Seconds(), t.Tries)
	return b.repair(p, t.Timetable)
}

// repairTime is what a repair is given to search.
const repairTime = 150 * time.Millisecond

// repair lets somebody be five minutes late a third of the way through a class,
// and compares with a repair that takes as long as a whole timetable.
func (b *bench) repair(p *circuit.Problem, t *circuit.Timetable) error {
	f := t.FloorAt(p, t.Span/3)
	f.Ready[0] = f.Now + 300
	mend := func(d time.Duration) (*circuit.Timetable, time.Duration, error) {
		begun := worked()
		got, err := circuit.Repair(p, t, f, circuit.Options{Seed: b.seed, Iterations: 1 << 40,
			Stop: func() bool { return (worked() - begun) > d }})
		return got, (worked() - begun), err
	}
	quick, took, err := mend(repairTime)
	if err != nil {
		return err
	}
	slow, _, err := mend(b.budget)
	if err != nil {
		return err
	}
	fmt.Fprintf(b.out, "    repaired in %.0f ms: ends %+d s, %.2f %% over one with %v\n",
		ms(took), quick.Span-t.Span, percent(quick.Span, slow.Span), b.budget)
	return nil
}

// worked is how long the processor has worked for this program: on a busy
// machine that, and not the clock, says what one core can do.
func worked() time.Duration {
	var u unix.Rusage
	if err := unix.Getrusage(unix.RUSAGE_SELF, &u); err != nil {
		return time.Duration(time.Now().UnixNano()) // the clock, then
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

func percent(got, of int) float64 { return 100 * float64(got-of) / float64(of) }

func ms(d time.Duration) float64 { return float64(d) / float64(time.Millisecond) }
