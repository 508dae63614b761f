package link

import (
	"bytes"
	"context"
	"crypto/tls"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"sync"
	"time"

	"golang.org/x/net/http2"
)

// ErrPin says that who answered is not the desk that let this device in.
var ErrPin = errors.New("who answers there is not the desk that let this device in")

// Discovery is the address of a desk that is looked for on the local network.
const Discovery = "discover:"

// CheckURL checks the address of a desk: https://HOST[:PORT], or Discovery.
func CheckURL(address string) error {
	if address == Discovery {
		return nil
	}
	_, err := hostOf(address)
	return err
}

// hostOf is HOST:PORT of an address.
func hostOf(address string) (string, error) {
	u, err := url.Parse(address)
	if err != nil || u.Scheme != "https" || u.Hostname() == "" || (u.Path != "" && u.Path != "/") || u.RawQuery != "" {
		return "", fmt.Errorf("%q is not the address of a desk; one is such as https://desk.clinic.example:8443, or %s to look for it on the local network", address, Discovery)
	}
	port := u.Port()
	if port == "" {
		port = "443"
	}
	return net.JoinHostPort(u.Hostname(), port), nil
}

// line is one connection to the desk, made anew when it is needed and broken.
type line struct {
	transport *http2.Transport
	mu        sync.Mutex // guards conn
	conn      net.Conn
}

// toConnect is how long a connection may take to be made.
const toConnect = 5 * time.Second

// newLine makes a line that connects to host, a HOST:PORT, with a key, and
// takes who answers only if known says so of its fingerprint. patience is how
// long an answer to a ping may take.
func newLine(host string, key Key, known func(fingerprint string) bool, patience time.Duration) (*line, error) {
	cert, err := key.linkCertificate()
	if err != nil {
		return nil, err
	}
	l := &line{}
	conf := &tls.Config{
		Certificates: []tls.Certificate{cert}, NextProtos: []string{ALPN}, MinVersion: tls.VersionTLS13,
		ServerName:         "desk",
		InsecureSkipVerify: true, // by name and date; VerifyConnection looks at the key
		VerifyConnection: func(s tls.ConnectionState) error {
			if len(s.PeerCertificates) == 0 || !known(Fingerprint(s.PeerCertificates[0].RawSubjectPublicKeyInfo)) {
				return ErrPin
			}
			return nil
		},
	}
	l.transport = &http2.Transport{TLSClientConfig: conf, ReadIdleTimeout: ping, PingTimeout: patience,
		DialTLSContext: func(ctx context.Context, _, _ string, _ *tls.Config) (net.Conn, error) {
			ctx, cancel := context.WithTimeout(ctx, toConnect)
			defer cancel()
			d := tls.Dialer{NetDialer: &net.Dialer{KeepAlive: 5 * time.Second}, Config: conf}
			c, err := d.DialContext(ctx, "tcp", host)
			if err != nil {
				return nil, err
			}
			if got := c.(*tls.Conn).ConnectionState().NegotiatedProtocol; got != ALPN {
				return nil, errors.Join(fmt.Errorf("who answers there does not speak %s", ALPN), c.Close())
			}
			l.keep(c)
			return c, nil
		}}
	return l, nil
}

func (l *line) keep(c net.Conn) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.conn = c
}

// cut closes the connection, so that the next request makes another.
func (l *line) cut() {
	l.mu.Lock()
	c := l.conn
	l.conn = nil
	l.mu.Unlock()
	if c != nil {
		_ = c.Close() // it is given up
	}
	l.transport.CloseIdleConnections()
}

// start sends a request and gives the answer with its body open. An answer
// that is no success is an error, a *[Refused].
func (l *line) start(ctx context.Context, method, path string, body []byte) (*http.Response, error) {
	r, err := http.NewRequestWithContext(ctx, method, "https://desk"+path, bytes.NewReader(body))
	if err != nil {
		return nil, err
	}
	answer, err := l.transport.RoundTrip(r)
	if err != nil {
		return nil, err
	}
	if answer.StatusCode/100 != 2 {
		defer answer.Body.Close()
		return nil, readRefusal(answer)
	}
	return answer, nil
}

// maxAnswer is the most an answer may have: a plan, its protocol, or a state.
const maxAnswer = 4 << 20

// ask sends a request and reads the answer into out, nil for none. A
// connection on which anything went wrong is cut.
func (l *line) ask(ctx context.Context, limit time.Duration, method, path string, body []byte, out any) error {
	ctx, cancel := context.WithTimeout(ctx, limit)
	defer cancel()
	err := l.exchange(ctx, method, path, body, out)
	if refused := (*Refused)(nil); err != nil && !errors.As(err, &refused) {
		l.cut()
	}
	return err
}

func (l *line) exchange(ctx context.Context, method, path string, body []byte, out any) error {
	answer, err := l.start(ctx, method, path, body)
	if err != nil {
		return err
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(io.LimitReader(answer.Body, maxAnswer+1))
	switch {
	case err != nil:
		return fmt.Errorf("reading the desk's answer: %w", err)
	case len(text) > maxAnswer:
		return fmt.Errorf("the desk's answer has more than %d bytes", maxAnswer)
	case out == nil:
		return nil
	}
	if err := received(text, out); err != nil {
		return fmt.Errorf("the desk's answer: %w", err)
	}
	return nil
}

func asJSON(v any) []byte {
	b, err := json.Marshal(v)
	if err != nil {
		panic("what the link sends has a JSON form: " + err.Error())
	}
	return b
}

// Try asks the desk of a data folder's identity, at an address, whether it
// knows this device, and gives the device's name there and how long that took.
func Try(ctx context.Context, address, dir string) (name string, took time.Duration, err error) {
	id, err := ReadIdentity(dir)
	if err != nil {
		return "", 0, err
	}
	c := &Client{Config: Config{Data: dir, URL: address}}
	host, err := c.host(ctx, id.Desk)
	if err != nil {
		return "", 0, err
	}
	l, err := newLine(host, id.Key, func(f string) bool { return f == id.Desk }, ping)
	if err != nil {
		return "", 0, err
	}
	defer l.cut()
	began := time.Now()
	err = l.ask(ctx, 2*Silence, http.MethodPost, "/link/1/marks", asJSON(MarksAsked{Epochs: []string{}}), nil)
	return id.Name, time.Since(began), err
}
