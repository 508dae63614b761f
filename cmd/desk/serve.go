package main

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"evenbell/coach/desk"
	"evenbell/coach/desk/store"
	"evenbell/coach/desk/web"
	"evenbell/coach/link"
)

// serveFlags are the options of desk serve.
type serveFlags struct {
	dir, addr, cert, key string
	plain                bool
	announce             bool
}

func (p *program) serve() *cobra.Command {
	var f serveFlags
	c := &cobra.Command{
		Use:   "serve --data DIR --addr HOST:PORT [--http]",
		Short: "Be the staff server and the stations' link",
		Long: `Serve is the desk at work: staff pages and the stations' link on one address, over
HTTPS with the desk's own certificate, or with the hospital's by --cert and --key.
Stations know the desk by its own key in either case. With --http it serves the
staff pages alone, without TLS and on loopback only, for a proxy on this machine.
The proxy has to add where a browser is to X-Forwarded-For: wrong logins are counted
by the last address there. Without --http that header is not believed.

It prints its address on standard output once it serves, and logs without names on
standard error. GET /health answers without a login.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			if (f.cert == "") != (f.key == "") {
				return errors.New("--cert and --key: both or neither")
			}
			if f.plain && f.cert != "" {
				return errors.New("--http goes without --cert and --key")
			}
			return p.serveDesk(c.Context(), f)
		},
	}
	dataFlag(c, &f.dir)
	c.Flags().StringVar(&f.addr, "addr", "", "the address to serve on, `HOST:PORT`")
	c.Flags().BoolVar(&f.plain, "http", false, "staff pages without TLS, on loopback only")
	c.Flags().StringVar(&f.cert, "cert", "", "the hospital's certificate, PEM `FILE`")
	c.Flags().StringVar(&f.key, "key", "", "the key of --cert, PEM `FILE`")
	c.Flags().BoolVar(&f.announce, "announce", true, "let stations find this desk on the local network; never on loopback")
	_ = c.MarkFlagRequired("addr")
	return c
}

func (p *program) serveDesk(ctx context.Context, f serveFlags) (err error) {
	log := slog.New(slog.NewTextHandler(p.stderr, nil))
	d, err := p.open(ctx, f.dir)
	if err != nil {
		return err
	}
	defer func() {
		if closed := d.store.Close(); closed != nil && err == nil {
			err = failed(fmt.Errorf("closing the desk: %w", closed))
		}
	}()
	if err := d.store.Serve(); err != nil {
		if errors.Is(err, store.ErrInUse) {
			err = fmt.Errorf("%w: another desk serve is at work in %s", err, f.dir)
		}
		return failed(err)
	}
	on, err := listen(ctx, f)
	if err != nil {
		return err
	}
	server, err := p.server(ctx, d, f, on, log)
	if err != nil {
		return failed(errors.Join(err, on.Close()))
	}
	if f.announce && !f.plain && !loopback(f.addr) {
		port := on.Addr().(*net.TCPAddr).Port
		a, err := link.Announce(hostName(), port, d.key.Fingerprint())
		if err != nil {
			log.Warn("stations can't find this desk by themselves", "error", err)
		} else {
			defer a.Close()
		}
	}
	scheme := "https"
	if f.plain {
		scheme = "http"
	}
	fmt.Fprintf(p.stdout, "serving %s://%s\n", scheme, on.Addr())
	log.Info("serving", "addr", on.Addr().String(), "data", filepath.Clean(f.dir), "key", d.key.Fingerprint())
	if err := server.Serve(ctx, on); err != nil {
		return failed(err)
	}
	log.Info("stopped")
	return nil
}

func hostName() string {
	if n, err := os.Hostname(); err == nil {
		return n
	}
	return "desk"
}

// listen takes the address. Without TLS only this machine may come.
func listen(ctx context.Context, f serveFlags) (net.Listener, error) {
	if f.plain && !loopback(f.addr) {
		return nil, fmt.Errorf("--http is for loopback only, such as --addr 127.0.0.1:8080; %s can be reached from elsewhere", f.addr)
	}
	on, err := (&net.ListenConfig{}).Listen(ctx, "tcp", f.addr)
	if err != nil {
		return nil, failed(err)
	}
	return on, nil
}

func loopback(addr string) bool {
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return false
	}
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

func (p *program) server(ctx context.Context, d *opened, f serveFlags, on net.Listener, log *slog.Logger) (*desk.Server, error) {
	pages, err := web.New(web.Options{Desk: d.Desk, Plain: f.plain, Sound: pageSound, Replay: pageSound})
	if err != nil {
		return nil, fmt.Errorf("making the pages: %w", err)
	}
	s := &desk.Server{Desk: d.Desk, Key: d.key, Pages: pages, Log: log}
	if f.plain {
		return s, nil
	}
	var cert tls.Certificate
	if f.cert != "" {
		cert, err = tls.LoadX509KeyPair(f.cert, f.key)
	} else {
		cert, err = desk.OwnCertificate(ctx, d.store, d.key, d.Time(), desk.Hosts(on.Addr().String()))
	}
	if err != nil {
		return nil, fmt.Errorf("the certificate: %w", err)
	}
	s.Certificate = &cert
	return s, nil
}
