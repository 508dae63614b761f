package taillard

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestLongestRowOrColumnIsThePublishedBound(t *testing.T) {
	require.Len(t, Instances, 60)
	for i, in := range Instances {
		longest := 0
		seconds := in.Seconds()
		for a := range seconds {
			row, column := 0, 0
			for b := range seconds {
				row += seconds[a][b]
				column += seconds[b][a]
			}
			longest = max(longest, row, column)
		}
		require.Equal(t, in.Lower, longest, fmt.Sprintf("instance %d of %d×%d", i%10+1, in.Size, in.Size))
	}
}
