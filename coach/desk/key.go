package desk

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"fmt"
	"net"
	"os"
	"slices"
	"time"

	"evenbell/coach/desk/store"
	"evenbell/coach/link"
)

// The settings that hold the desk's own key and certificate. They are in the
// store so that a backup put back anywhere is the desk that stations know.
const (
	keySetting         = "desk key"
	certificateSetting = "desk certificate"
)

// OpenKey is the desk's own key, made where there is none. Several processes
// may ask at once: the first key made is everybody's.
func OpenKey(ctx context.Context, s *store.Store) (k link.Key, err error) {
	err = s.Together(ctx, func(ctx context.Context) error {
		text, err := s.Setting(ctx, keySetting)
		if err != nil {
			return err
		}
		if text != "" {
			k, err = link.ParseKey([]byte(text))
			return err
		}
		if k, err = link.NewKey(); err != nil {
			return err
		}
		return s.SetSetting(ctx, keySetting, string(k.PEM()))
	})
	if err != nil {
		return k, fmt.Errorf("the desk's key: %w", err)
	}
	return k, nil
}

// How long a certificate of the desk's own is good for, and how long before its
// end it is made anew. Browsers were told to trust it, so that is seldom;
// stations look at the key alone.
const (
	certificateLasts = 5 * 365 * 24 * time.Hour
	certificateRenew = 60 * 24 * time.Hour
)

// OwnCertificate is the certificate that browsers get: the one kept as long as
// it is of this key, lasts, and names the hosts, else a new one.
func OwnCertificate(ctx context.Context, st *store.Store, key link.Key, now time.Time, hosts []string) (tls.Certificate, error) {
	text, err := st.Setting(ctx, certificateSetting)
	if err != nil {
		return tls.Certificate{}, fmt.Errorf("the desk's certificate: %w", err)
	}
	if c, err := tls.X509KeyPair([]byte(text), key.PEM()); err == nil && serves(c, now, hosts) {
		return c, nil
	}
	c, err := key.Certificate(now.Add(-24*time.Hour), now.Add(certificateLasts), hosts...)
	if err != nil {
		return c, err
	}
	text = string(pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: c.Certificate[0]}))
	if err := st.SetSetting(ctx, certificateSetting, text); err != nil {
		return c, fmt.Errorf("keeping the desk's certificate: %w", err)
	}
	return c, nil
}

func serves(c tls.Certificate, now time.Time, hosts []string) bool {
	leaf, err := x509.ParseCertificate(c.Certificate[0])
	if err != nil || now.Before(leaf.NotBefore) || now.Add(certificateRenew).After(leaf.NotAfter) {
		return false
	}
	return !slices.ContainsFunc(hosts, func(h string) bool { return leaf.VerifyHostname(h) != nil })
}

// Hosts are the names and addresses under which this machine may be asked for:
// the one it listens on, its own, and those of its networks.
func Hosts(addr string) []string {
	hosts := []string{"localhost", "127.0.0.1", "::1"}
	add := func(h string) {
		if h != "" && !slices.Contains(hosts, h) {
			hosts = append(hosts, h)
		}
	}
	if host, _, err := net.SplitHostPort(addr); err == nil {
		if ip := net.ParseIP(host); ip == nil || !ip.IsUnspecified() {
			add(host)
		}
	}
	if name, err := os.Hostname(); err == nil {
		add(name)
		add(name + ".local")
	}
	all, err := net.InterfaceAddrs()
	if err != nil {
		return hosts
	}
	for _, a := range all {
		if n, ok := a.(*net.IPNet); ok && n.IP.IsGlobalUnicast() {
			add(n.IP.String())
		}
	}
	return hosts
}
