package journal

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func at(seq int64) head {
	return head{Position{"0f0e0d0c0b0a09080706050403020100", seq}, Hash{}.Next([]byte{byte(seq)})}
}

func TestAMarkWithAFlippedBitIsNoMark(t *testing.T) {
	slot := formatMark(at(7), 3)
	h, writes, ok := parseMark(slot)
	require.True(t, ok)
	assert.Equal(t, at(7), h)
	assert.EqualValues(t, 3, writes)
	for i := range slot {
		for bit := range 8 {
			b := bytes.Clone(slot)
			b[i] ^= 1 << bit
			_, _, ok := parseMark(b)
			assert.False(t, ok, "byte %d bit %d", i, bit)
		}
	}
	for size := range slot {
		_, _, ok := parseMark(slot[:size])
		assert.False(t, ok, "torn at %d", size)
	}
}

// Whichever slot is spoilt, the other still says how far the log had come.
func TestAMarkOutlivesOneSpoiltSlot(t *testing.T) {
	dir := t.TempDir()
	m, err := openMark(dir)
	require.NoError(t, err)
	for seq := int64(1); seq <= 3; seq++ {
		require.NoError(t, m.set(at(seq)))
	}
	require.NoError(t, m.file.Close())
	newest, err := findMark(dir)
	require.NoError(t, err)
	assert.Equal(t, at(3), *newest)

	again, err := openMark(dir)
	require.NoError(t, err)
	require.NoError(t, again.set(at(4)))
	require.NoError(t, again.file.Close())
	newest, err = findMark(dir)
	require.NoError(t, err)
	assert.Equal(t, at(4), *newest, "the writes count on")

	for slot, want := range []head{at(3), at(4)} {
		b, err := os.ReadFile(filepath.Join(dir, markName))
		require.NoError(t, err)
		b[slot*markSlot+40] ^= 1
		spoilt := t.TempDir()
		require.NoError(t, os.WriteFile(filepath.Join(spoilt, markName), b, 0o600))
		newest, err := findMark(spoilt)
		require.NoError(t, err)
		assert.Equal(t, want, *newest, "slot %d spoilt", slot)
	}
	none, err := findMark(t.TempDir())
	require.NoError(t, err)
	assert.Nil(t, none)
}
