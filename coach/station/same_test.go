package station_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
	"evenbell/coach/player"
)

// The same session gives the same bytes, however it is cut into blocks.
func TestSameBytesAtAnyBlockSize(t *testing.T) {
	t.Parallel()
	want, heard := wholeSession(t)
	_, sp := voice(t)
	got := &comparer{want: want}
	again := stream(config(demo(t), sp), 480, got.take)
	require.Equal(t, -1, got.differs(), "the first sample that differs")
	require.Equal(t, heard, again)
}

func TestSameBytesWithPressesAtAnyBlockSize(t *testing.T) {
	t.Parallel()
	prog := short(t)
	_, sp := voice(t)
	presses := []coach.Press{{Button: coach.Hold, At: 48000*110 + 13}, {Button: coach.Hold, At: 48000*125 + 7}, {Button: coach.Minus, At: 48000*160 + 1}}
	cfg := config(prog, sp)
	cfg.Presses = presses
	want, heard := render(t, cfg, 4096)
	for _, block := range []int{1, 7, 1023} {
		got := &comparer{want: want}
		again := stream(cfg, block, got.take)
		assert.Equal(t, -1, got.differs(), "blocks of %d", block)
		assert.Equal(t, heard, again)
	}
}

// comparer compares a stream as it comes, so that nothing is kept twice.
type comparer struct {
	want []int16
	at   int
	off  int // first difference + 1
}

func (c *comparer) take(block []int16) {
	for _, v := range block {
		if c.off == 0 && (c.at >= len(c.want) || c.want[c.at] != v) {
			c.off = c.at + 1
		}
		c.at++
	}
}

func (c *comparer) differs() int {
	if c.off == 0 && c.at != len(c.want) {
		return c.at
	}
	return c.off - 1
}

// stream renders without keeping the sound.
func stream(cfg player.Config, block int, take func([]int16)) player.Heard {
	p := player.New(cfg)
	buf := make([]int16, block)
	for !p.Over() {
		take(buf[:p.Render(buf)])
	}
	return p.Take(player.All)
}

// A session run without sound has the cues, entries and length of one that is
// heard.
func TestDryIsTheSameSession(t *testing.T) {
	t.Parallel()
	pcm, heard := wholeSession(t)
	_, sp := voice(t)
	dry, end := player.Dry(config(demo(t), sp))
	assert.Equal(t, heard.Cues, dry.Cues)
	assert.Equal(t, heard.Entries, dry.Entries)
	assert.Len(t, pcm, int(end))
}
