package link_test

import (
	"bytes"
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach/journal"
	"evenbell/coach/link"
	"evenbell/coach/link/linktest"
)

// carry bundles what a station has not sent.
func carry(t *testing.T, dir string) []byte {
	t.Helper()
	id, err := link.ReadIdentity(dir)
	require.NoError(t, err)
	r, err := journal.OpenReader(dir)
	require.NoError(t, err)
	defer r.Close()
	var out bytes.Buffer
	_, err = link.WriteBundle(&out, id, r, journal.SystemClock{}.Now(), "boot")
	require.NoError(t, err)
	return out.Bytes()
}

// bring appends what a bundle holds, as a desk does.
func bring(t *testing.T, d *linktest.Desk, text []byte) {
	t.Helper()
	b, err := link.ReadBundle(bytes.NewReader(text))
	require.NoError(t, err)
	from, err := d.Station(context.Background(), b.Key())
	require.NoError(t, err)
	for batch, err := range b.Batches() {
		require.NoError(t, err)
		require.True(t, batch.Carried)
		_, err = d.Append(context.Background(), from, batch)
		require.NoError(t, err)
	}
}

func TestALogCarriedByStickHasEffectOnce(t *testing.T) {
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	dir := enrolled(t, d, s, "Bay 3")
	for range 3 { // three starts, nothing sent
		j, err := journal.Open(dir)
		require.NoError(t, err)
		_, err = j.Append(append(reps(700), stop())...)
		require.NoError(t, err)
		require.NoError(t, j.Close())
	}
	text := carry(t, dir)
	bring(t, d, text)
	same(t, dir, d)
	bring(t, d, text)
	same(t, dir, d)
	assert.Len(t, d.Urgent(), 3)

	// And the link, later, sends nothing twice.
	b := newBox(t, dir, s.URL())
	b.add(reps(5)...)
	b.arrived(d)
	require.Empty(t, d.Breaks())
}

func TestAChangedBundleIsNone(t *testing.T) {
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	dir := enrolled(t, d, s, "Bay 3")
	j, err := journal.Open(dir)
	require.NoError(t, err)
	_, err = j.Append(reps(3)...)
	require.NoError(t, err)
	require.NoError(t, j.Close())
	text := carry(t, dir)
	for at := 0; at < len(text); at += 7 {
		broken := bytes.Clone(text)
		broken[at] ^= 1
		_, err := link.ReadBundle(bytes.NewReader(broken))
		require.ErrorIs(t, err, link.ErrBundle, "byte %d", at)
		_, err = link.ReadBundle(bytes.NewReader(text[:at]))
		require.ErrorIs(t, err, link.ErrBundle, "cut at %d", at)
	}
	_, err = link.ReadBundle(bytes.NewReader(append(bytes.Clone(text), '\n')))
	require.ErrorIs(t, err, link.ErrBundle)
}

func TestAPlanCarriedByStick(t *testing.T) {
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	dir := enrolled(t, d, s, "Bay 3")
	id, err := link.ReadIdentity(dir)
	require.NoError(t, err)
	made := time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)
	write := func(key link.Key, change func(*link.DeskBundle)) []byte {
		p := link.Plan{Version: 4, Text: "the plan"}
		b := link.DeskBundle{Station: id.Key.Fingerprint(), Made: made, Plan: p,
			State: link.State{Plan: p.Version, PlanHash: p.Hash(), Holds: []link.Hold{{ID: 1, Tag: "K4"}}},
			Marks: []link.Mark{{Epoch: "0123456789abcdef0123456789abcdef", Seq: 9}}}
		change(&b)
		var out bytes.Buffer
		require.NoError(t, link.WriteDeskBundle(&out, key, b))
		return out.Bytes()
	}
	read := func(text []byte) (*link.DeskBundle, error) { return link.ReadDeskBundle(bytes.NewReader(text), id) }
	same := func(*link.DeskBundle) {}

	other, err := link.NewKey()
	require.NoError(t, err)
	_, err = read(write(other, same))
	require.ErrorIs(t, err, link.ErrPin)
	_, err = read(write(s.Key, func(b *link.DeskBundle) { b.Station = other.Fingerprint() }))
	require.ErrorContains(t, err, "another station")
	_, err = read(write(s.Key, func(b *link.DeskBundle) { b.Plan.Text = "another" }))
	require.ErrorIs(t, err, link.ErrBundle)
	text := write(s.Key, same)
	for at := 0; at < len(text); at += 5 {
		broken := bytes.Clone(text)
		broken[at] ^= 1
		_, err := read(broken)
		require.Error(t, err, "byte %d", at)
	}

	b, err := read(text)
	require.NoError(t, err)
	k, err := link.OpenKeptPlan(dir)
	require.NoError(t, err)
	require.NoError(t, k.TakeBundle(b))
	require.NoError(t, k.TakeBundle(b), "the same one may be taken again")
	older := *b
	older.Made = made.Add(-time.Second)
	require.ErrorContains(t, k.TakeBundle(&older), "made on", "an older bundle brings nothing back")
	require.NoError(t, k.Spoke(made.Add(time.Hour)), "the desk said meanwhile who is held")
	require.ErrorContains(t, k.TakeBundle(b), "made on", "what was written before that frees nobody")
	assert.Equal(t, "the plan", k.Plan().Text)
	unsure := *b
	unsure.Made, unsure.Plan, unsure.State.Plan, unsure.State.PlanHash, unsure.State.KeepPlan = made.Add(2*time.Hour), link.Plan{}, 0, "", true
	require.NoError(t, k.TakeBundle(&unsure))
	assert.Equal(t, "the plan", k.Plan().Text, "a desk that can't tell takes nothing away")
	again, err := link.OpenKeptPlan(dir)
	require.NoError(t, err)
	assert.Equal(t, "the plan", again.Plan().Text)
	c, done, ok, err := link.TakeCarried(dir)
	require.NoError(t, err)
	require.True(t, ok)
	assert.Equal(t, b.State.Holds, c.State.Holds)
	assert.Equal(t, b.Marks, c.Marks)
	require.NoError(t, done())
	_, _, ok, err = link.TakeCarried(dir)
	require.NoError(t, err)
	assert.False(t, ok)

	// Another desk that lets the device in begins with no plan.
	o := linktest.NewDesk()
	os := linktest.Serve(t, o)
	_, err = link.Enrol(context.Background(), os.URL(), o.Code("Bay 1"), dir)
	require.NoError(t, err)
	require.NoError(t, again.Reload())
	assert.Empty(t, again.Has(), fmt.Sprint(again.Plan()))
}
