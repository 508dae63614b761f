package desk_test

import (
	"bufio"
	"context"
	"crypto/tls"
	"encoding/json"
	"io"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"evenbell/coach/desk"
	"evenbell/coach/link"
)

// served is a desk on loopback, with pages of the test's own.
type served struct {
	*clinic
	addr   string
	client *http.Client
	stop   func() error
}

func serve(t *testing.T, pages http.Handler, plain bool) *served {
	c := newClinic(t)
	key, err := desk.OpenKey(ctx, c.store)
	require.NoError(t, err)
	again, err := desk.OpenKey(ctx, c.store)
	require.NoError(t, err)
	require.Equal(t, key.Fingerprint(), again.Fingerprint(), "made once")
	on, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	s := &desk.Server{Desk: c.Desk, Key: key, Pages: pages, Log: slog.New(slog.DiscardHandler)}
	if !plain {
		cert, err := desk.OwnCertificate(ctx, c.store, key, c.time(), desk.Hosts(on.Addr().String()))
		require.NoError(t, err)
		kept, err := desk.OwnCertificate(ctx, c.store, key, c.time(), desk.Hosts(on.Addr().String()))
		require.NoError(t, err)
		require.Equal(t, cert.Certificate, kept.Certificate, "browsers were told to trust it")
		s.Certificate = &cert
	}
	serving, end := context.WithCancel(ctx)
	done := make(chan error, 1)
	go func() { done <- s.Serve(serving, on) }()
	v := &served{clinic: c, addr: on.Addr().String(), client: &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true}, ForceAttemptHTTP2: true}}}
	ended := false
	v.stop = func() error {
		if ended {
			return nil
		}
		ended = true
		end()
		return <-done
	}
	t.Cleanup(func() {
		assert.NoError(t, v.stop())
		v.client.CloseIdleConnections()
	})
	return v
}

func (s *served) do(method, path string, header http.Header) *http.Response {
	r, err := http.NewRequest(method, "https://"+s.addr+path, nil)
	require.NoError(s.t, err)
	r.Header = header
	if header == nil {
		r.Header = http.Header{}
	}
	got, err := s.client.Do(r)
	require.NoError(s.t, err)
	return got
}

func TestServerToBrowsersAndStations(t *testing.T) {
	s := serve(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { io.WriteString(w, "a page") }), false)
	r := s.do(http.MethodGet, "/", nil)
	r.Body.Close()
	assert.Equal(t, 2, r.ProtoMajor)
	for name, want := range map[string]string{"Content-Security-Policy": "frame-ancestors 'none'", "X-Content-Type-Options": "nosniff", "Referrer-Policy": "same-origin", "Strict-Transport-Security": "max-age"} {
		assert.Contains(t, r.Header.Get(name), want)
	}
	assert.NotContains(t, r.Header.Get("Content-Security-Policy"), "unsafe")

	r = s.do(http.MethodGet, "/health", nil)
	var h desk.Health
	require.NoError(t, json.NewDecoder(r.Body).Decode(&h))
	r.Body.Close()
	assert.True(t, h.OK)

	r = s.do(http.MethodPost, "/", http.Header{"Sec-Fetch-Site": {"cross-site"}})
	r.Body.Close()
	assert.Equal(t, http.StatusForbidden, r.StatusCode)

	// A browser is asked for no certificate; a station must show one.
	asked := func(protocol string) (was bool, err error) {
		c, err := tls.Dial("tcp", s.addr, &tls.Config{InsecureSkipVerify: true, NextProtos: []string{protocol},
			GetClientCertificate: func(*tls.CertificateRequestInfo) (*tls.Certificate, error) {
				was = true
				return &tls.Certificate{}, nil
			}})
		if err == nil {
			_, err = c.Read(make([]byte, 1)) // TLS 1.3 tells of a refusal only here
			c.Close()
		}
		return was, err
	}
	was, _ := asked(link.ALPN)
	assert.True(t, was)
	c, err := tls.Dial("tcp", s.addr, &tls.Config{InsecureSkipVerify: true, NextProtos: []string{"http/1.1"},
		GetClientCertificate: func(*tls.CertificateRequestInfo) (*tls.Certificate, error) {
			t.Error("a browser was asked for a certificate")
			return &tls.Certificate{}, nil
		}})
	require.NoError(t, err)
	c.Close()
}

// A stream of news outlasts the time a page may take, and ends when the desk
// stops: nobody waits for it.
func TestServerStopsAtOnceForStreams(t *testing.T) {
	var s *served
	s = serve(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.WriteHeader(http.StatusOK)
		io.WriteString(w, "begun\n")
		_ = http.NewResponseController(w).Flush()
		for range s.Watch(r.Context()) {
		}
	}), false)
	r := s.do(http.MethodGet, "/live", nil)
	defer r.Body.Close()
	line, err := bufio.NewReader(r.Body).ReadString('\n')
	require.NoError(t, err)
	require.Equal(t, "begun\n", line)
	begun := time.Now()
	require.NoError(t, s.stop())
	assert.Less(t, time.Since(begun), 30*time.Second)
}

func TestPlainServerHasNoLink(t *testing.T) {
	s := serve(t, http.NotFoundHandler(), true)
	r, err := s.client.Get("http://" + s.addr + "/health")
	require.NoError(t, err)
	r.Body.Close()
	assert.Equal(t, http.StatusOK, r.StatusCode)
	assert.Empty(t, r.Header.Get("Strict-Transport-Security"))
	_, err = tls.Dial("tcp", s.addr, &tls.Config{InsecureSkipVerify: true, NextProtos: []string{link.ALPN}})
	assert.Error(t, err)
	assert.True(t, strings.HasPrefix(s.addr, "127."))
}
