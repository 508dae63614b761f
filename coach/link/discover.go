package link

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/netip"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/pion/logging"
	"github.com/pion/mdns/v2"
	"golang.org/x/net/ipv4"
)

// What a desk is announced as on the local network (DNS-SD, RFC 6763). The
// text record says which desk it is; a station takes only the one it knows,
// and that one proves itself by its key as always.
const (
	serviceType = "_evenbell-link._tcp"
	keyText     = "key"
)

// Found is a desk that was announced.
type Found struct {
	Name string
	Host string // HOST:PORT
	Key  string // fingerprint it says it has
}

// Announce makes a desk known on the local network until it is closed: by the
// instance name, the port the link is served on, and the fingerprint of its
// key. On a machine without a network, or whose network carries no multicast,
// it fails; stations with a fixed address need none of it.
func Announce(name string, port int, fingerprint string) (io.Closer, error) {
	host, err := os.Hostname()
	if err != nil {
		return nil, fmt.Errorf("announcing the desk: %w", err)
	}
	host, _, _ = strings.Cut(host, ".")
	host += "-evenbell.local" // not the machine's own, which may be another's to answer for
	return listenLocal(mdns.WithLocalNames(host), mdns.WithService(mdns.ServiceInstance{
		Instance: name, Service: serviceType, Domain: "local", Host: host + ".", Port: uint16(port),
		Text: []mdns.TXTEntry{mdns.NewTXTString(keyText, fingerprint)}}))
}

// onlyOn are the interfaces to speak on, for tests that leave the network
// alone; none for all there are.
var onlyOn []net.Interface

// listenLocal joins the conversation on the local network.
func listenLocal(with ...mdns.ServerOption) (*mdns.Conn, error) {
	addr, err := net.ResolveUDPAddr("udp4", mdns.DefaultAddressIPv4)
	if err != nil {
		return nil, fmt.Errorf("asking on the local network: %w", err)
	}
	l, err := net.ListenUDP("udp4", addr)
	if err != nil {
		return nil, fmt.Errorf("asking on the local network: %w", err)
	}
	quiet := logging.NewDefaultLoggerFactory()
	quiet.DefaultLogLevel = logging.LogLevelDisabled
	with = append(with, mdns.WithLoggerFactory(quiet), mdns.WithIncludeLoopback(true))
	if len(onlyOn) > 0 {
		with = append(with, mdns.WithInterfaces(onlyOn...))
	}
	c, err := mdns.NewServer(ipv4.NewPacketConn(l), nil, with...)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("asking on the local network: %w", err), l.Close())
	}
	return c, nil
}

// toFind is how long the local network is asked for a desk.
const toFind = 4 * time.Second

// Discover asks the local network which desks there are, until ctx is done or
// enough says that those found so far will do.
func Discover(ctx context.Context, enough func([]Found) bool) ([]Found, error) {
	ctx, cancel := context.WithTimeout(ctx, toFind)
	defer cancel()
	c, err := listenLocal()
	if err != nil {
		return nil, err
	}
	defer c.Close()
	events := make(chan Found, 64)
	c.OnServiceDiscovered(func(e mdns.ServiceEvent) {
		select {
		case events <- found(e):
		default: // nobody has sixty desks
		}
	})
	browsing := make(chan error, 1)
	go func() { browsing <- c.Browse(ctx, serviceType) }()
	defer func() { cancel(); <-browsing }()
	var all []Found
	for {
		select {
		case f := <-events:
			if !slices.Contains(all, f) {
				all = append(all, f)
			}
			if enough(all) {
				return all, nil
			}
		case <-ctx.Done():
			return all, nil
		}
	}
}

func found(e mdns.ServiceEvent) Found {
	f := Found{Name: e.Instance.Instance, Host: net.JoinHostPort(hostText(e.Addr), strconv.Itoa(int(e.Instance.Port)))}
	for _, t := range e.Instance.Text {
		if strings.EqualFold(t.Key, keyText) {
			f.Key = string(t.Value)
		}
	}
	return f
}

func hostText(a netip.Addr) string { return a.Unmap().String() }

// findDesk is where the desk with that key is announced.
func findDesk(ctx context.Context, pin string) (string, error) {
	ours := func(f Found) bool { return f.Key == pin }
	all, err := Discover(ctx, func(all []Found) bool { return slices.ContainsFunc(all, ours) })
	if err != nil {
		return "", err
	}
	if i := slices.IndexFunc(all, ours); i >= 0 {
		return all[i].Host, nil
	}
	return "", fmt.Errorf("the desk is not announced on the local network; a fixed address in station.toml needs no announcing")
}
