package link_test

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach/link"
	"evenbell/coach/link/linktest"
)

// line is a recording of some words.
func line(text string, sound ...byte) link.Recording {
	return link.Recording{Language: "en", Text: text, Sound: bytes.Repeat(append(sound, text...), 20_000)}
}

// byHash is how a desk has recordings.
func byHash(all ...link.Recording) map[string]link.Recording {
	out := map[string]link.Recording{}
	for _, r := range all {
		out[r.Hash()] = r
	}
	return out
}

// here are the words whose recordings are kept in a folder.
func here(t *testing.T, dir string) (texts []string) {
	t.Helper()
	all, err := link.OpenKeptRecordings(dir).In("en")
	require.NoError(t, err)
	for _, r := range all {
		texts = append(texts, r.Text)
	}
	return texts
}

func TestRecordingsComeDownOnceAndGo(t *testing.T) {
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	dir := enrolled(t, d, s, "Bay 3")
	towel, wall := line("towel pull"), line("wall slide")
	spanish := line("tirón de toalla")
	spanish.Language = "es"
	d.Records(1, byHash(towel, wall, spanish))
	p := link.Plan{Version: 1, Text: "the plan"}
	d.Send(1, p)
	b := newBox(t, dir, s.URL())
	eventually(t, func() bool { return len(here(t, dir)) == 2 }, "both are here")
	assert.ElementsMatch(t, []string{"towel pull", "wall slide"}, here(t, dir))
	eventually(t, func() bool { return len(link.OpenKeptRecordings(dir).Lacks([]string{spanish.Hash()})) == 0 }, "whatever its language")

	// The words are part of what is named: the same sound for others is another.
	slide := wall
	slide.Text = "wall slides"
	assert.NotEqual(t, wall.Hash(), slide.Hash())
	d.Records(1, byHash(towel, slide))
	eventually(t, func() bool { h := here(t, dir); return len(h) == 2 && strings.Contains(strings.Join(h, ","), "slides") }, "the new one is here, the old one is not")
	assert.Equal(t, 1, d.Asked(towel.Hash()), "what is here is not fetched again")
	b.stop()

	// After a start nothing is fetched that is here; what was damaged is.
	file := filepath.Join(dir, "recording-"+slide.Hash()+".json")
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	text[len(text)/2] ^= 1
	require.NoError(t, os.WriteFile(file, text, 0o600))
	_, err = link.OpenKeptRecordings(dir).In("en")
	require.ErrorContains(t, err, slide.Hash())
	b = newBox(t, dir, s.URL())
	eventually(t, func() bool {
		all, err := link.OpenKeptRecordings(dir).In("en")
		return err == nil && len(all) == 2
	}, "the damaged one was fetched again")
	assert.Equal(t, 1, d.Asked(towel.Hash()))
	assert.Equal(t, 2, d.Asked(slide.Hash()))

	d.Records(1, nil)
	eventually(t, func() bool { return len(here(t, dir)) == 0 }, "what the plan uses no more goes")
	assert.Equal(t, "the plan", b.plan.Text)
}

// Bytes that are not those the desk spoke of are never kept, and do not keep
// the others away.
func TestWrongRecordingsAreRefused(t *testing.T) {
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	dir := enrolled(t, d, s, "Bay 3")
	good, damaged, cut, swapped := line("a good one"), line("a damaged one"), line("a short one"), line("lift your arm")
	all := byHash(good)
	for hash, wrong := range byHash(damaged, cut, swapped) {
		switch wrong.Text {
		case damaged.Text:
			wrong.Sound = bytes.Clone(wrong.Sound)
			wrong.Sound[7] ^= 1
		case cut.Text:
			wrong.Sound = wrong.Sound[:len(wrong.Sound)/2]
		default:
			wrong.Text = "lower your arm"
		}
		all[hash] = wrong
	}
	d.Records(1, all)
	newBox(t, dir, s.URL())
	eventually(t, func() bool {
		return len(here(t, dir)) == 1 && d.Asked(damaged.Hash()) > 0 && d.Asked(cut.Hash()) > 0 && d.Asked(swapped.Hash()) > 0
	}, "all were tried")
	assert.Equal(t, []string{"a good one"}, here(t, dir))

	all[damaged.Hash()], all[cut.Hash()], all[swapped.Hash()] = damaged, cut, swapped
	d.Records(1, all)
	eventually(t, func() bool { return len(here(t, dir)) == 4 }, "they are tried again")
}

// A connection that breaks in the middle costs the recording under way and no
// other.
func TestRecordingsGoOnWhereTheLinkBroke(t *testing.T) {
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	dir := enrolled(t, d, s, "Bay 3")
	var all []link.Recording
	for _, text := range []string{"one", "two", "three", "four", "five", "six"} {
		all = append(all, line(text, bytes.Repeat([]byte{9}, 30)...))
	}
	d.Records(1, byHash(all...))
	proxy := linktest.NewProxy(t, s, func(int) linktest.Harm { return linktest.Harm{DownAfter: 1_800_000} }) // two and a bit
	newBox(t, dir, proxy.URL())
	eventually(t, func() bool { return len(here(t, dir)) == len(all) }, "all are here")
	twice := 0
	for _, r := range all {
		twice += d.Asked(r.Hash()) - 1
	}
	assert.Positive(t, twice, "the link did break")
	assert.LessOrEqual(t, twice, 4)
}

func TestWhoIsShutOutGetsNoRecording(t *testing.T) {
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	dir := enrolled(t, d, s, "Bay 3")
	b := newBox(t, dir, s.URL())
	eventually(t, b.client.Up, "it is linked")
	d.Revoke("Bay 3")
	d.Records(1, byHash(line("towel pull")))
	time.Sleep(300 * time.Millisecond)
	assert.Empty(t, here(t, dir))
}

func TestRecordingsCarriedByStick(t *testing.T) {
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	dir := enrolled(t, d, s, "Bay 3")
	id, err := link.ReadIdentity(dir)
	require.NoError(t, err)
	towel, wall := line("towel pull"), line("wall slide")
	p := link.Plan{Version: 4, Text: "the plan"}
	b := link.DeskBundle{Station: id.Key.Fingerprint(), Made: time.Now(), Plan: p, Recordings: []link.Recording{towel, wall},
		State: link.State{Plan: 4, PlanHash: p.Hash(), Recordings: []string{towel.Hash(), wall.Hash()}}}
	write := func(change func(*link.DeskBundle)) []byte {
		b := b
		change(&b)
		var out bytes.Buffer
		require.NoError(t, link.WriteDeskBundle(&out, s.Key, b))
		return out.Bytes()
	}
	read := func(text []byte) (*link.DeskBundle, error) { return link.ReadDeskBundle(bytes.NewReader(text), id) }

	got, err := read(write(func(*link.DeskBundle) {}))
	require.NoError(t, err)
	assert.Equal(t, b.Recordings, got.Recordings)
	plain := write(func(b *link.DeskBundle) { b.Recordings, b.State.Recordings = nil, nil })
	assert.True(t, strings.HasPrefix(string(plain), `{"format":"desk-bundle/1"`), "older stations read a bundle without recordings")
	assert.NotContains(t, string(plain), "recordings")

	for name, change := range map[string]func(*link.DeskBundle){
		"one is missing":    func(b *link.DeskBundle) { b.Recordings = b.Recordings[:1] },
		"one too many":      func(b *link.DeskBundle) { b.State.Recordings = b.State.Recordings[:1] },
		"another than said": func(b *link.DeskBundle) { b.Recordings = []link.Recording{towel, line("another")} },
	} {
		_, err := read(write(change))
		require.ErrorIs(t, err, link.ErrBundle, name)
	}
	text := write(func(*link.DeskBundle) {})
	for at := 0; at < len(text); at += 9973 {
		broken := bytes.Clone(text)
		broken[at] ^= 1
		_, err := read(broken)
		require.Error(t, err, "byte %d", at)
	}

	kept := link.OpenKeptRecordings(dir)
	require.NoError(t, kept.Keep(line("of an older plan")))
	plans, err := link.OpenKeptPlan(dir)
	require.NoError(t, err)
	require.NoError(t, plans.TakeBundle(got))
	assert.ElementsMatch(t, []string{"towel pull", "wall slide"}, here(t, dir))
}
