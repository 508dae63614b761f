package store_test

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/journal"
)

func TestAppendTwiceStoresOnce(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		tp, station := newTape(t), addStation(t, s, "Bay 1")
		tp.session("s1", "K4", 40)
		first := send(t, s, station, tp.all...)
		assert.Len(t, first.Added, len(tp.all))
		assert.Empty(t, first.Breaks)
		assert.Equal(t, tp.at, first.Mark)
		again := send(t, s, station, tp.all...)
		assert.Empty(t, again.Added)
		assert.Empty(t, again.Breaks)
		assert.Equal(t, tp.at, again.Mark)
		requireAll(t, s, station, tp.all)
		mark, err := s.Mark(t.Context(), station, tp.at.Epoch)
		require.NoError(t, err)
		assert.Equal(t, tp.at.Seq, mark.Mark)
		assert.Equal(t, tp.hash, mark.Hash)
		at, err := s.VerifyLog(t.Context(), station, tp.at.Epoch)
		require.NoError(t, err)
		assert.Equal(t, tp.at, at)
	})
}

func TestAppendRefusesAGapWhole(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		tp, station := newTape(t), addStation(t, s, "Bay 1")
		tp.session("s1", "K4", 5)
		send(t, s, station, tp.all[:3]...)
		for name, batch := range map[string][]journal.Record{
			"one left out": tp.all[4:], "one left out within": append(slices.Clone(tp.all[2:4]), tp.all[5:]...),
			"turned round": {tp.all[4], tp.all[3]},
		} {
			done := send(t, s, station, batch...)
			assert.True(t, done.Gap, name)
			assert.Equal(t, tp.all[2].Position, done.Mark, name)
		}
		requireAll(t, s, station, tp.all[:3])
		done := send(t, s, station, tp.all[1:]...) // overlapping is no gap
		assert.False(t, done.Gap)
		requireAll(t, s, station, tp.all)
		breaks, err := s.Breaks(t.Context(), station)
		require.NoError(t, err)
		assert.Empty(t, breaks)
	})
}

func TestAppendAcrossStartsOfTheProgram(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		tp, station := newTape(t), addStation(t, s, "Bay 1")
		for n := range 4 {
			tp.session(fmt.Sprint("s", n), "K4", 3)
			tp.starts()
		}
		done := send(t, s, station, tp.all...)
		assert.Empty(t, done.Breaks)
		requireAll(t, s, station, tp.all)
		epochs, err := s.Epochs(t.Context(), station)
		require.NoError(t, err)
		assert.Len(t, epochs, 5)
		assert.Equal(t, epochs[0].Epoch, epochs[1].Previous.PreviousEpoch)
	})
}

// An epoch that a later one names and of which nothing is here is told as
// missing, as often as it is, until all of it has come.
func TestAnEpochThatNeverCame(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		tp, station := newTape(t), addStation(t, s, "Bay 1")
		tp.session("s1", "K4", 3)
		first := len(tp.all)
		tp.starts()
		tp.session("s2", "K4", 3)
		second := len(tp.all)
		tp.starts()
		tp.session("s3", "K4", 3)
		require.Empty(t, send(t, s, station, tp.all[:first]...).Breaks)
		done := send(t, s, station, tp.all[second:]...)
		require.Len(t, done.Breaks, 1)
		assert.Equal(t, journal.Position{Epoch: tp.at.Epoch, Seq: 1}, done.Breaks[0].Position)
		assert.Contains(t, done.Breaks[0].What, fmt.Sprintf("epoch %s went up to 7 and is here up to 0", tp.all[first].Epoch))
		assert.Empty(t, send(t, s, station, tp.all[second:]...).Breaks, "and it is told once")
		open := func() (n int) {
			breaks, err := s.Breaks(t.Context(), station)
			require.NoError(t, err)
			for _, b := range breaks {
				if b.Mended == nil {
					n++
				}
			}
			return n
		}
		assert.Equal(t, 1, open())
		send(t, s, station, tp.all[first:second-1]...)
		assert.Equal(t, 1, open(), "its last entry is missing yet")
		send(t, s, station, tp.all[second-1])
		assert.Zero(t, open())
		requireAll(t, s, station, tp.all)
	})
}

func TestTwoStationsMayUseTheSameNames(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		tp, a, b := newTape(t), addStation(t, s, "Bay 1"), addStation(t, s, "Bay 2")
		tp.session("s1", "K4", 3)
		send(t, s, a, tp.all...)
		send(t, s, b, tp.all[:2]...)
		requireAll(t, s, a, tp.all)
		requireAll(t, s, b, tp.all[:2])
	})
}

// forge changes a copy of a record's line and leaves the rest.
func forge(r journal.Record, old, by string) journal.Record {
	r.Line = bytes.Replace(bytes.Clone(r.Line), []byte(old), []byte(by), 1)
	return r
}

func TestAppendKeepsWhatDoesNotFitAndSaysSo(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		tp, station := newTape(t), addStation(t, s, "Bay 1")
		tp.session("s1", "K4", 6)
		changed := slices.Clone(tp.all)
		changed[5] = forge(changed[5], `"rep":3`, `"rep":4`)
		done := send(t, s, station, changed...)
		require.Len(t, done.Breaks, 1, "the chain does not hold where a line was changed")
		assert.Equal(t, changed[5].Position, done.Breaks[0].Position)
		assert.Contains(t, done.Breaks[0].What, "chain")
		requireAll(t, s, station, changed)
		_, err := s.VerifyLog(t.Context(), station, tp.at.Epoch)
		var corrupt *journal.CorruptError
		require.ErrorAs(t, err, &corrupt)
		assert.Equal(t, changed[5].Position, corrupt.Position)

		again := send(t, s, station, tp.all...) // the true ones, too late
		require.Len(t, again.Breaks, 1)
		assert.Equal(t, string(tp.all[5].Line), again.Breaks[0].Line, "the second line of a number is not thrown away")
		assert.Empty(t, send(t, s, station, tp.all...).Breaks, "and it is told once")
		requireAll(t, s, station, changed)
	})
}

func TestAppendRefusesWhatIsNoEntry(t *testing.T) {
	tp := newTape(t)
	tp.session("s1", "K4", 3)
	good := tp.all[2]
	long := good
	long.Line = append(bytes.Clone(good.Line), bytes.Repeat([]byte(" "), journal.MaxLine)...)
	cut := good
	cut.Line = good.Line[:len(good.Line)/2]
	onBoth(t, func(t *testing.T, s *store.Store) {
		for name, bad := range map[string]journal.Record{
			"a cut line":            cut,
			"another epoch":         forge(good, `"epoch":"0`, `"epoch":"1`),
			"another number":        forge(good, `"seq":3`, `"seq":4`),
			"no kind":               forge(good, `"kind":"set_start"`, `"kind":""`),
			"not an object":         {Position: good.Position, Line: []byte(`["entry"]`), Hash: good.Hash},
			"two lines":             forge(good, `,"seq"`, ",\n\"seq\""),
			"not UTF-8":             forge(good, "K4", "K\xff"),
			"a NUL":                 forge(good, "K4", "K\x00"),
			"longer than a line is": long,
			"no line":               {Position: good.Position},
		} {
			t.Run(name, func(t *testing.T) {
				station := addStation(t, s, name)
				send(t, s, station, tp.all[:2]...)
				done := send(t, s, station, tp.all[1], bad)
				assert.NotEmpty(t, done.Refused)
				require.Len(t, done.Breaks, 1)
				assert.Equal(t, bad.Position, done.Breaks[0].Position)
				assert.Equal(t, tp.all[1].Position, done.Mark)
				assert.Empty(t, send(t, s, station, bad).Breaks, "told once")
				requireAll(t, s, station, tp.all[:2])
				assert.Empty(t, send(t, s, station, tp.all[2:]...).Refused, "the true one is still welcome")
				requireAll(t, s, station, tp.all)
			})
		}
		done := send(t, s, addStation(t, s, "Bay 1"), journal.Record{Position: journal.Position{Epoch: "e", Seq: -1}, Line: good.Line})
		assert.NotEmpty(t, done.Refused)
	})
}

func TestAppendTakesOddEntriesAsTheyAre(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		for name, rest := range map[string]string{
			"a name with a NUL":       `"tag":"K\u0000 4","session":"\u0000"`,
			"half a character":        `"tag":"\ud800"`,
			"a name without end":      `"tag":"` + strings.Repeat("ü", 50_000) + `"`,
			"data of another shape":   `"data":[1,2,{"a":null}]`,
			"a boot before the boot":  `"mono_ns":-9223372036854775808`,
			"a wall time before 1970": `"wall":"0001-01-01T00:00:00Z"`,
			"the last wall time":      `"wall":"9999-12-31T23:59:59.999999999Z"`,
			"fields of next year":     `"pulse":72,"kind":"session_end"`,
		} {
			tp, station := newTape(t), addStation(t, s, name)
			line := []byte(`{"epoch":"` + tp.at.Epoch + `","seq":2,"kind":"rep",` + rest + `}`)
			odd := journal.Record{Position: journal.Position{Epoch: tp.at.Epoch, Seq: 2}, Line: line, Hash: tp.hash.Next(line)}
			done := send(t, s, station, tp.all[0], odd)
			assert.Empty(t, done.Refused, name)
			assert.Empty(t, done.Breaks, name)
			requireAll(t, s, station, []journal.Record{tp.all[0], odd})
			require.NoError(t, s.SaveContact(t.Context(), *contactAt(station, tp, 1<<62, noon, 0)), name)
		}
	})
}

func TestAppendKeepsKindsItDoesNotKnow(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		tp, station := newTape(t), addStation(t, s, "Bay 1")
		tp.write(coach.Entry{Kind: "of_next_year", Tag: "K4", Data: map[string]any{"a": 1}})
		assert.Empty(t, send(t, s, station, tp.all...).Breaks)
		requireAll(t, s, station, tp.all)
	})
}

func TestALostTailIsSeenAndMended(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		tp, station := newTape(t), addStation(t, s, "Bay 1")
		tp.session("s1", "K4", 6)
		first := len(tp.all)
		tp.starts()
		tp.session("s2", "K4", 2)
		send(t, s, station, tp.all[:4]...)
		done := send(t, s, station, tp.all[first:]...) // a stick with the newer epoch alone
		require.Len(t, done.Breaks, 1)
		assert.Contains(t, done.Breaks[0].What, "missing before this")
		assert.Len(t, done.Added, len(tp.all)-first, "what came is kept all the same")

		send(t, s, station, tp.all[4:first]...) // the other stick, a week later
		breaks, err := s.Breaks(t.Context(), station)
		require.NoError(t, err)
		require.Len(t, breaks, 1)
		assert.NotNil(t, breaks[0].Mended)
		requireAll(t, s, station, tp.all)
	})
}

func TestWhatTheStationNoLongerHas(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		tp, station := newTape(t), addStation(t, s, "Bay 1")
		tp.session("s1", "K4", 20)
		send(t, s, station, tp.all[:4]...) // then the desk is restored, and the station has pruned
		gone := tp.all[8].Hash
		done, err := s.Append(t.Context(), store.Batch{Station: station, Records: tp.all[9:], Gone: &gone, Received: noon})
		require.NoError(t, err)
		require.Len(t, done.Breaks, 1)
		assert.Contains(t, done.Breaks[0].What, "entries 5 to 9 never came")
		assert.Equal(t, tp.at, done.Mark)
		_, err = s.VerifyLog(t.Context(), station, tp.at.Epoch)
		var corrupt *journal.CorruptError
		require.ErrorAs(t, err, &corrupt)
		assert.Equal(t, journal.MissingEntry, corrupt.Damage)

		filled := send(t, s, station, tp.all[2:12]...) // they turn up on a stick
		assert.Len(t, filled.Added, 5)
		assert.Empty(t, filled.Breaks)
		breaks, err := s.Breaks(t.Context(), station)
		require.NoError(t, err)
		assert.NotNil(t, breaks[0].Mended)
		requireAll(t, s, station, tp.all)
		_, err = s.VerifyLog(t.Context(), station, tp.at.Epoch)
		require.NoError(t, err)
	})
}

func TestAnOldCardIsSeen(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		tp, station := newTape(t), addStation(t, s, "Bay 1")
		tp.session("s1", "K4", 3)
		card := *tp // an image of the card
		card.all = slices.Clone(tp.all)
		tp.session("s2", "K4", 3)
		tp.starts()
		send(t, s, station, tp.all...)

		card.epochs += 7
		card.starts() // the image is put back; it cannot know of s2
		done := send(t, s, station, card.all...)
		require.NotEmpty(t, done.Breaks)
		var said []string
		for _, b := range done.Breaks {
			said = append(said, b.What)
		}
		assert.Contains(t, strings.Join(said, "\n"), "an older state of the device was put back")
		assert.Equal(t, card.at, done.Mark)
		requireAll(t, s, station, append(slices.Clone(tp.all), card.all[len(card.all)-1]))
	})
}

func TestALogThatBeginsAnewIsSeen(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		tp, station := newTape(t), addStation(t, s, "Bay 1")
		send(t, s, station, tp.all...)
		other := &tape{t: t, epochs: 40}
		other.boots()
		other.starts()
		done := send(t, s, station, other.all...)
		require.Len(t, done.Breaks, 1)
		assert.Contains(t, done.Breaks[0].What, "begins anew")
	})
}

func TestADeskRestoredFromAnOlderBackupIsSentTheRestAgain(t *testing.T) {
	dir, file := t.TempDir(), t.TempDir()+"/backup.db"
	tp := newTape(t)
	tp.session("s1", "K4", 10)
	s := inFolder(t, dir)
	station := addStation(t, s, "Bay 1")
	send(t, s, station, tp.all...)
	require.NoError(t, s.Backup(t.Context(), file))
	had := len(tp.all)
	tp.session("s2", "K4", 10)
	tp.starts()
	send(t, s, station, tp.all[had:]...)
	require.NoError(t, s.Close())
	_, err := store.Restore(t.Context(), dir, file)
	require.NoError(t, err)

	s = inFolder(t, dir)
	done := send(t, s, station, tp.all[len(tp.all)-1]) // the station goes on where it was
	require.Empty(t, done.Gap)
	require.Len(t, done.Breaks, 1, "the new epoch's start names what is missing")
	send(t, s, station, tp.all[had:]...) // told its marks, it goes back
	requireAll(t, s, station, tp.all)
	breaks, err := s.Breaks(t.Context(), station)
	require.NoError(t, err)
	require.Len(t, breaks, 1)
	assert.NotNil(t, breaks[0].Mended)
}

// By the link and by stick at the same time, in overlapping pieces.
func TestAppendFromSeveralSidesAtOnce(t *testing.T) {
	onBoth(t, func(t *testing.T, s *store.Store) {
		tp, station := newTape(t), addStation(t, s, "Bay 1")
		tp.session("s1", "K4", 300)
		var all sync.WaitGroup
		var added atomic.Int64
		for side := range 4 {
			all.Go(func() {
				for at := 0; at < len(tp.all); {
					done, err := s.Append(t.Context(), store.Batch{Station: station, Records: tp.all[at:min(at+5+side, len(tp.all))], Received: noon})
					if !assert.NoError(t, err) {
						return
					}
					added.Add(int64(len(done.Added)))
					at = int(done.Mark.Seq) // one epoch: number n is record n-1
				}
			})
		}
		all.Wait()
		assert.EqualValues(t, len(tp.all), added.Load(), "each was new to one of them")
		requireAll(t, s, station, tp.all)
	})
}
