package speech

import (
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestClean(t *testing.T) {
	for text, want := range map[string]string{
		"Mind the left knee, please.":             "Mind the left knee, please.",
		"  two   spaces\tand\nlines ":             "two spaces and lines",
		"<speak>loud</speak>":                     "speak loud /speak",
		"[[dI2s]] phonemes":                       "dI2s phonemes",
		"--help -o /etc/passwd":                   "--help -o /etc/passwd",
		"$(reboot); `id` | sh > x":                "(reboot); id sh x",
		"\x00nul \x1b[31mred \u202eright-to-left": "nul 31mred right-to-left",
		"Señor Núñez, ¿mejor?":                    "Señor Núñez, ¿mejor?",
		"it’s fine 😀":                             "it's fine",
	} {
		got, err := Clean(text)
		require.NoError(t, err, text)
		assert.Equal(t, want, got)
	}
	for text, want := range map[string]string{
		"": "no word", "   ": "no word", "…!?": "no word", "\x00\x01": "no word", "😀😀": "no word", "\xff\xfe": "no word",
		"Привет": "another alphabet", "你好": "another alphabet", "mind ٣": "another alphabet",
		strings.Repeat("a", LongestText+1): "longer than 200", strings.Repeat(" ", 1<<20): "longer than 200",
	} {
		_, err := Clean(text)
		require.ErrorIs(t, err, ErrUnspeakable, "%.20q", text)
		assert.ErrorContains(t, err, want)
	}
}

// FuzzClean: what comes through is short, plain and the same when cleaned again.
func FuzzClean(f *testing.F) {
	for _, s := range []string{"Mind the knee.", "<b>&amp;</b>", "\x00", "[[", "Ünï", "Привет", strings.Repeat("x", 300)} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got, err := Clean(text)
		if err != nil {
			require.ErrorIs(t, err, ErrUnspeakable)
			return
		}
		require.LessOrEqual(t, utf8.RuneCountInString(got), LongestText)
		require.Equal(t, strings.Join(strings.Fields(got), " "), got)
		for _, r := range got {
			require.True(t, r == ' ' || unicode.Is(unicode.Latin, r) || '0' <= r && r <= '9' || strings.ContainsRune(punctuation, r), "%q", r)
		}
		again, err := Clean(got)
		require.NoError(t, err)
		require.Equal(t, got, again)
	})
}
