package coach_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach"
)

func TestTelephoneNumbersInGroups(t *testing.T) {
	for number, want := range map[string][]string{
		"020 912 0456":     {"020", "912", "0456"},
		"(01632) 960001":   {"016", "32", "960", "001"},
		"112":              {"112"},
		"5550100":          {"5550", "100"},
		"00353-20.9120456": {"003", "53", "20", "9120", "456"},
		"0123456789":       {"0123", "456", "789"},
	} {
		n, err := coach.ParseTelephone(number)
		require.NoError(t, err, number)
		assert.Equal(t, want, n.Groups(), number)
	}
	for _, number := range []string{"", "12", "+353 20 912 0456", "ask for Ana", "1234567890123456", "٠٢٠٩"} {
		_, err := coach.ParseTelephone(number)
		assert.Error(t, err, number)
	}
}
