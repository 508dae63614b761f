package link_test

import (
	"context"
	"net"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"evenbell/coach/link"
)

func TestADeskIsFoundOnTheLocalNetwork(t *testing.T) {
	lo, err := net.InterfaceByIndex(1)
	if err != nil || lo.Flags&net.FlagLoopback == 0 {
		t.Skip("this machine's first interface is not its loopback")
	}
	link.OnlyOn(*lo)
	key, err := link.NewKey()
	require.NoError(t, err)
	a, err := link.Announce("Quayside test", 8443, key.Fingerprint())
	if err != nil {
		t.Skipf("no multicast on this machine: %v", err)
	}
	defer a.Close()
	ours := func(f link.Found) bool { return f.Key == key.Fingerprint() }
	all, err := link.Discover(context.Background(), func(all []link.Found) bool { return slices.ContainsFunc(all, ours) })
	if err != nil || !slices.ContainsFunc(all, ours) {
		t.Skipf("multicast does not come back to this machine: %v", err)
	}
	f := all[slices.IndexFunc(all, ours)]
	require.Equal(t, "Quayside test", f.Name)
	require.Contains(t, f.Host, ":8443")
}
