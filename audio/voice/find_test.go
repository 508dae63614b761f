package voice

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestFind(t *testing.T) {
	names, err := BuiltIn()
	require.NoError(t, err)
	assert.Equal(t, []string{"en", "es"}, names)
	data := t.TempDir()
	for _, where := range []string{"", data} {
		p, err := Find("es", where)
		require.NoError(t, err)
		assert.Equal(t, "es", p.Manifest().Language)
		assert.Contains(t, p.Manifest().Voice, "placeholder")
	}

	// The clinic's own pack goes before the built-in one of its name.
	dir := filepath.Join(data, Folder, "es")
	require.NoError(t, os.CopyFS(dir, onePack([]byte("sound"), 4800, 0)))
	p, err := Find("es", data)
	require.NoError(t, err)
	assert.Len(t, p.Manifest().Clips, 1)

	// A damaged one is not passed over for it.
	require.NoError(t, os.Remove(filepath.Join(dir, "one.mp3")))
	_, err = Find("es", data)
	require.ErrorContains(t, err, dir)
	require.ErrorContains(t, err, `clip "one": its file one.mp3 is missing`)

	for _, name := range []string{"", ".", "..", "../en", "en/..", `..\en`, "/en", "en.old"} {
		_, err := Find(name, data)
		assert.ErrorContains(t, err, "no name of a voice pack", "%q", name)
	}
	_, err = Find("fr", data)
	require.ErrorContains(t, err, `no voice "fr"; built in: en, es`)
}
