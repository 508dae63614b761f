package store_test

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"

	"evenbell/coach/desk/store"
	"evenbell/coach/journal"
)

// playing is a log sent in a bad way: pieces of it, again and again, in any
// order, with gaps, cut, turned round or with lines changed on the way.
type playing struct {
	t       testing.TB
	s       *store.Store
	station int64
	tape    *tape
	forged  bool
	sent    map[journal.Position]map[string]bool // every line ever sent under a number
}

var bays atomic.Int64 // one store serves many plays

// script is where the choices come from; each number is below n.
type script func(n int) int

func play(t testing.TB, s *store.Store, next script) *playing {
	p := &playing{t: t, s: s, station: addStation(t, s, fmt.Sprint("Bay ", bays.Add(1))), tape: newTape(t), sent: map[journal.Position]map[string]bool{}}
	for n := range 1 + next(4) {
		p.tape.session(fmt.Sprint("s", n), "K4", next(12))
		if next(2) == 0 {
			p.tape.starts()
		}
	}
	return p
}

// batch is some stretch of the log, spoilt or not.
func (p *playing) batch(next script) []journal.Record {
	from := next(len(p.tape.all))
	batch := slices.Clone(p.tape.all[from:min(len(p.tape.all), from+1+next(24))])
	switch next(8) {
	case 0: // one left out
		i := next(len(batch))
		batch = slices.Delete(batch, i, i+1)
	case 1: // two turned round
		i, j := next(len(batch)), next(len(batch))
		batch[i], batch[j] = batch[j], batch[i]
	case 2: // one twice
		i := next(len(batch))
		batch = slices.Insert(batch, i, batch[i])
	case 3: // two batches in one
		batch = append(batch, batch...)
	case 4: // a line changed
		if next(2) == 0 {
			i := next(len(batch))
			changed := forge(batch[i], `"sample":0`, fmt.Sprintf(`"sample":%d`, next(3)))
			p.forged = p.forged || !bytes.Equal(changed.Line, batch[i].Line)
			batch[i] = changed
		}
	case 5: // a line cut off
		if next(2) == 0 {
			i := next(len(batch))
			batch[i].Line = batch[i].Line[:next(len(batch[i].Line))]
		}
	}
	return batch
}

func (p *playing) send(batch []journal.Record) store.Appended {
	p.t.Helper()
	for _, r := range batch {
		if p.sent[r.Position] == nil {
			p.sent[r.Position] = map[string]bool{}
		}
		p.sent[r.Position][string(r.Line)] = true
	}
	return send(p.t, p.s, p.station, batch...)
}

// holds makes sure of what must be so at every moment.
func (p *playing) holds() {
	p.t.Helper()
	epochs, err := p.s.Epochs(p.t.Context(), p.station)
	require.NoError(p.t, err)
	have := map[string]int64{}
	for _, e := range kept(p.t, p.s, store.EntryFilter{Station: p.station}) {
		have[e.Epoch]++
		require.True(p.t, p.sent[e.Position][string(e.Line)], "%v was never sent so", e.Position)
	}
	for _, e := range epochs {
		require.Equal(p.t, e.Mark, have[e.Epoch], "every entry up to the mark, and none beyond")
		delete(have, e.Epoch)
	}
	require.Empty(p.t, have)
}

// ends sends the whole log as a good station would, and makes sure that every
// entry is here once, and whatever differs from it is to be seen.
func (p *playing) ends() {
	p.t.Helper()
	done := p.send(p.tape.all)
	require.False(p.t, done.Gap)
	require.Empty(p.t, done.Refused)
	require.Equal(p.t, p.tape.at, done.Mark)
	p.holds()
	breaks, err := p.s.Breaks(p.t.Context(), p.station)
	require.NoError(p.t, err)
	said := map[journal.Position]bool{}
	for _, b := range breaks {
		said[b.Position] = true
		if strings.HasPrefix(b.What, "entries are missing before this") && !p.forged {
			require.NotNil(p.t, b.Mended, "nothing is missing any more")
		}
	}
	have := kept(p.t, p.s, store.EntryFilter{Station: p.station})
	require.Len(p.t, have, len(p.tape.all))
	wrong := map[journal.Position]string{}
	for _, e := range have {
		wrong[e.Position] = string(e.Line)
	}
	for _, r := range p.tape.all {
		if wrong[r.Position] != string(r.Line) {
			require.True(p.t, p.forged)
			require.True(p.t, said[r.Position], "%v differs and nobody is told", r.Position)
			kept := slices.ContainsFunc(breaks, func(b store.Break) bool { return b.Position == r.Position && b.Line == string(r.Line) })
			require.True(p.t, kept, "the true line of %v is kept as well", r.Position)
		}
	}
	if !p.forged {
		for _, e := range slices.Compact(epochsOf(p.tape.all)) {
			_, err := p.s.VerifyLog(p.t.Context(), p.station, e)
			require.NoError(p.t, err)
		}
	}
}

func epochsOf(records []journal.Record) []string {
	var all []string
	for _, r := range records {
		all = append(all, r.Epoch)
	}
	return all
}

func TestAppendWhateverIsSent(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		for round := range uint64(12) {
			dice := rand.New(rand.NewPCG(*seed, round))
			p := play(t, s, dice.IntN)
			for range 12 {
				p.send(p.batch(dice.IntN))
				p.holds()
			}
			p.ends()
		}
	})
}

// The desk is set back to an older backup in between, again and again; a
// station that follows the marks it is told loses nothing.
func TestAppendAfterOlderBackups(t *testing.T) {
	dir, file := t.TempDir(), filepath.Join(t.TempDir(), "backup.db")
	dice := rand.New(rand.NewPCG(*seed, 9))
	s, err := store.Open(t.Context(), dir)
	require.NoError(t, err)
	p := play(t, s, dice.IntN)
	p.tape.session("more", "K4", 60)
	next := 0
	for restored := 0; restored < 5; {
		switch dice.IntN(6) {
		case 0:
			require.NoError(t, s.Backup(t.Context(), file))
		case 1:
			if _, err := store.Sound(t.Context(), file); err != nil {
				continue // no backup yet
			}
			require.NoError(t, s.Close())
			_, err := store.Restore(t.Context(), dir, file)
			require.NoError(t, err)
			s, err = store.Open(t.Context(), dir)
			require.NoError(t, err)
			p.s, restored = s, restored+1
		default:
			done := p.send(p.tape.all[next:min(next+7, len(p.tape.all))])
			next = 1 + slices.IndexFunc(p.tape.all, func(r journal.Record) bool { return r.Position == done.Mark })
			if next == len(p.tape.all) {
				p.tape.session("again", "K4", 20)
			}
		}
		p.holds()
	}
	p.ends()
	require.NoError(t, s.Close())
}

func FuzzAppend(f *testing.F) {
	s := inFolder(f, f.TempDir()) // opening one each time would be most of the work
	f.Add([]byte{1, 2, 3, 4, 5, 6, 7, 8, 9})
	f.Add(bytes.Repeat([]byte{7, 0, 3}, 30))
	f.Fuzz(func(t *testing.T, choices []byte) {
		next := func(n int) int {
			if len(choices) == 0 {
				return 0
			}
			c := int(choices[0])
			choices = choices[1:]
			return c % n
		}
		p := play(t, s, next)
		for len(choices) > 0 {
			p.send(p.batch(next))
			p.holds()
		}
		p.ends()
	})
}

// Whatever comes as a line, nothing but a whole entry of that number is taken.
func FuzzLine(f *testing.F) {
	tp := newTape(f)
	tp.session("s1", "K4", 1)
	for _, r := range tp.all {
		f.Add(r.Line)
	}
	f.Add([]byte(`{"epoch":"00000000000000000000000000000001","seq":2,"kind":"rep","wall":"-0001-01-01T00:00:00Z"}`))
	f.Add([]byte(`{"epoch":"00000000000000000000000000000001","seq":2,"kind":"session_end","session":"x","data":[1]}`))
	s := inFolder(f, f.TempDir())
	f.Fuzz(func(t *testing.T, line []byte) {
		station := addStation(t, s, fmt.Sprint("Bay ", bays.Add(1)))
		send(t, s, station, tp.all[0])
		r := journal.Record{Position: tp.all[1].Position, Line: line, Hash: tp.all[0].Hash.Next(line)}
		done := send(t, s, station, r)
		have := kept(t, s, store.EntryFilter{Station: station, Epoch: r.Epoch, After: 1})
		if done.Refused != "" {
			require.Empty(t, have)
			require.Len(t, done.Breaks, 1)
			return
		}
		require.Len(t, have, 1)
		require.Equal(t, string(line), string(have[0].Line))
		at, err := s.VerifyLog(t.Context(), station, r.Epoch)
		require.NoError(t, err)
		require.Equal(t, r.Position, at)
	})
}
