package link_test

import (
	"context"
	"net"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"evenbell/coach/link"
	"evenbell/coach/link/linktest"
)

// onLoopback keeps discovery to this machine.
func onLoopback(t *testing.T) {
	t.Helper()
	lo, err := net.InterfaceByIndex(1)
	if err != nil || lo.Flags&net.FlagLoopback == 0 {
		t.Skip("this machine's first interface is not its loopback")
	}
	link.OnlyOn(*lo)
}

func TestADeskIsFoundOnTheLocalNetwork(t *testing.T) {
	onLoopback(t)
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

func TestAStationFindsItsDeskByItself(t *testing.T) {
	onLoopback(t)
	d := linktest.NewDesk()
	s := linktest.Serve(t, d)
	dir := enrolled(t, d, s, "Bay 3")
	_, text, err := net.SplitHostPort(s.Addr)
	require.NoError(t, err)
	port, err := strconv.Atoi(text)
	require.NoError(t, err)
	stranger, err := link.NewKey()
	require.NoError(t, err)
	other, err := link.Announce("Another clinic", 1, stranger.Fingerprint())
	if err != nil {
		t.Skipf("no multicast on this machine: %v", err)
	}
	defer other.Close()
	a, err := link.Announce("Quayside", port, s.Key.Fingerprint())
	require.NoError(t, err)
	defer a.Close()
	ours := func(f link.Found) bool { return f.Key == s.Key.Fingerprint() }
	all, err := link.Discover(context.Background(), func(all []link.Found) bool { return slices.ContainsFunc(all, ours) })
	if err != nil || !slices.ContainsFunc(all, ours) {
		t.Skipf("multicast does not come back to this machine: %v", err)
	}
	b := newBox(t, dir, link.Discovery)
	b.add(reps(3)...)
	b.arrived(d)
}
