package desk_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"evenbell/coach/desk/store"
	"evenbell/coach/link/linktest"
)

// The desk and the one that stations are tested against keep one contract.
func TestTheDeskKeepsTheLinksContract(t *testing.T) {
	linktest.Contract(t, func(t *testing.T) linktest.Subject {
		c := newClinic(t)
		return linktest.Subject{Desk: c.link,
			Code: func(name string) string {
				code, _, _, err := c.Code(ctx, adair, name)
				require.NoError(t, err)
				return code
			},
			Raised: func() int {
				n := 0
				for _, need := range c.needs() {
					if need.Reason == store.StopPressed {
						n++
					}
				}
				return n
			},
			Broken: func() int {
				n := 0
				for _, need := range c.needs() {
					if need.Reason == store.LogDamaged {
						n++
					}
				}
				return n
			},
			Revoke: func(name string) { require.NoError(t, c.Revoke(ctx, adair, name)) }}
	})
}
