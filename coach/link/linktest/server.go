package linktest

import (
	"crypto/tls"
	"io"
	"log"
	"log/slog"
	"net"
	"net/http"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"evenbell/coach/link"
)

// Server serves a desk on the loopback, as often as it is started.
type Server struct {
	Key  link.Key
	Addr string // HOST:PORT, the same after each start
	desk link.Desk
	http *http.Server
	done chan struct{}
}

// Serve starts a server that is killed when the test ends.
func Serve(t testing.TB, desk link.Desk) *Server {
	t.Helper()
	key, err := link.NewKey()
	require.NoError(t, err)
	s := &Server{Key: key, desk: desk, Addr: "127.0.0.1:0"}
	s.Start(t)
	t.Cleanup(s.Kill)
	return s
}

// URL is the server's address.
func (s *Server) URL() string { return "https://" + s.Addr }

// Start starts it, again on the address it had.
func (s *Server) Start(t testing.TB) {
	t.Helper()
	cert, err := s.Key.Certificate(time.Now().Add(-time.Hour), time.Now().Add(24*time.Hour), "127.0.0.1")
	require.NoError(t, err)
	s.http = &http.Server{TLSConfig: &tls.Config{Certificates: []tls.Certificate{cert}}, ReadHeaderTimeout: 10 * time.Second,
		ErrorLog: log.New(io.Discard, "", 0),
		Handler:  http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { io.WriteString(w, "pages") })}
	require.NoError(t, link.Attach(s.http, s.Key, link.Handler(s.desk, s.Key, slog.New(slog.DiscardHandler))))
	var l net.Listener
	require.Eventually(t, func() bool {
		l, err = net.Listen("tcp", s.Addr)
		return err == nil
	}, 30*time.Second, 10*time.Millisecond, "the address is not to be had again")
	if s.done == nil { // the first start finds the address, and it stays
		s.Addr = l.Addr().String()
	}
	done, serve := make(chan struct{}), s.http
	s.done = done
	go func() { defer close(done); _ = serve.ServeTLS(l, "", "") }()
}

// Kill ends it at once, with whatever is going on.
func (s *Server) Kill() {
	_ = s.http.Close()
	<-s.done
}
