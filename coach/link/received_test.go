package link

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// An older end must not lose a newer one over a key that was added; a file
// with a key that nobody knows is a mistake in the file.
func TestOneEndMayBeNewerThanTheOther(t *testing.T) {
	text := []byte(`{"now":"2026-03-02T09:00:00Z","codes":4,"added_later":{"x":1}}`)
	var s State
	require.NoError(t, received(text, &s))
	require.EqualValues(t, 4, s.Codes)
	require.Error(t, decode(text, &s))
	require.Error(t, received([]byte(`{"codes":4} {}`), &s))
}
