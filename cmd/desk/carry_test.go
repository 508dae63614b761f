package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A station without network: its log comes by hand and has effect once, its
// plan and its holds go back by hand.
func TestLogAndPlanCarriedByHand(t *testing.T) {
	h := newHouse(t)
	h.serve()
	w := h.mount("Home of K4", 100)
	h.stop()
	stops := w.offline(3000)
	bundle := filepath.Join(t.TempDir(), "log")
	h.run("", "station", "journal", "--data", w.data, "--bundle", bundle)
	assert.Equal(t, "Home of K4: 3001 new entries, 0 were here already\n", h.run("", "desk", "import", "--data", h.data, bundle))
	assert.Equal(t, "Home of K4: 0 new entries, 3001 were here already\n", h.run("", "desk", "import", "--data", h.data, bundle))
	h.once(stops)
	assert.EqualValues(t, 3001, h.marks())

	text, err := os.ReadFile(bundle)
	require.NoError(t, err)
	text[len(text)/2] ^= 1
	require.NoError(t, os.WriteFile(bundle, text, 0o600))
	assert.Contains(t, h.fails("desk", "import", "--data", h.data, bundle), "changed since it was signed")

	h.send("Home of K4", "K4")
	back := filepath.Join(t.TempDir(), "plan")
	assert.Equal(t, "plan 1 for Home of K4, 2 held\n", h.run("", "desk", "plan", "bundle", "--data", h.data, "--station", "Home of K4", back))
	assert.Contains(t, h.run("", "station", "plan", "take", back, "--data", w.data), "plan 1 for Home of K4")
	assert.Regexp(t, `^whole: `, h.run("", "desk", "audit", "verify", "--data", h.data))
}
