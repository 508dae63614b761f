package desk

import (
	"context"
	"crypto/tls"
	"encoding/json"
	"errors"
	"fmt"
	"log"
	"log/slog"
	"net"
	"net/http"
	"sync"
	"time"

	"evenbell/coach/link"
)

// Server is the desk on the network: the staff's pages and the stations' link
// on one address.
type Server struct {
	Desk        *Desk
	Key         link.Key         // the desk's own, by which stations know it
	Certificate *tls.Certificate // for browsers; nil serves plain HTTP, and no link
	Pages       http.Handler     // who may see what is its matter
	Log         *slog.Logger
}

// How long a browser may take, and how long the end may.
const (
	headerWithin = 10 * time.Second
	readWithin   = time.Minute
	writeWithin  = time.Minute // a stream of events clears it
	idleFor      = 2 * time.Minute
	endWithin    = 5 * time.Second
)

// Serve serves until ctx is done, and then lets what is under way come to an
// end, streams at once. It does the desk's own work meanwhile; where the store
// fails it ends, with that error.
func (s *Server) Serve(ctx context.Context, on net.Listener) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	server, err := s.server(ctx)
	if err != nil {
		return errors.Join(err, on.Close())
	}
	var work sync.WaitGroup
	failed := make(chan error, 2)
	work.Go(func() {
		defer stop()
		failed <- s.Desk.Run(ctx)
	})
	work.Go(func() {
		<-ctx.Done()
		s.Desk.board.end()
		end, cancel := context.WithTimeout(context.WithoutCancel(ctx), endWithin)
		defer cancel()
		if server.Shutdown(end) != nil {
			_ = server.Close() // what would not end in time is cut off
		}
	})
	if s.Certificate == nil {
		err = server.Serve(on)
	} else {
		err = server.ServeTLS(on, "", "")
	}
	stop()
	work.Wait()
	if errors.Is(err, http.ErrServerClosed) {
		err = nil
	}
	return errors.Join(err, <-failed)
}

func (s *Server) server(ctx context.Context) (*http.Server, error) {
	h := &http.Server{
		Handler:           s.handler(),
		ReadHeaderTimeout: headerWithin, ReadTimeout: readWithin, WriteTimeout: writeWithin, IdleTimeout: idleFor,
		BaseContext: func(net.Listener) context.Context { return ctx },
		// What goes wrong in a handshake is between a browser and its user.
		ErrorLog: log.New(quietly{s.Log}, "", 0),
	}
	if s.Certificate == nil {
		return h, nil
	}
	h.TLSConfig = &tls.Config{Certificates: []tls.Certificate{*s.Certificate}, MinVersion: tls.VersionTLS12}
	if err := link.Attach(h, s.Key, link.Handler(s.Desk.Link(), s.Key, s.Log)); err != nil {
		return nil, fmt.Errorf("preparing the link: %w", err)
	}
	return h, nil
}

// quietly passes what the HTTP server has to say on to the log.
type quietly struct{ log *slog.Logger }

func (q quietly) Write(b []byte) (int, error) {
	q.log.Debug("serving", "what", string(b))
	return len(b), nil
}

func (s *Server) handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /health", s.health)
	mux.Handle("/", http.NewCrossOriginProtection().Handler(s.Pages))
	return s.headers(mux)
}

// headers are what every answer to a browser carries; pages may say more.
func (s *Server) headers(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'self'; img-src 'self' data:; media-src 'self' blob:; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), geolocation=(), payment=(), usb=()")
		if r.TLS != nil {
			h.Set("Strict-Transport-Security", "max-age=31536000")
		}
		next.ServeHTTP(w, r)
	})
}

// Health is what /health says: no login, and no names in it.
type Health struct {
	OK       bool      `json:"ok"`
	Store    string    `json:"store"` // "ok", or what is wrong
	Time     time.Time `json:"time"`
	Stations int       `json:"stations"` // that are heard
	Silent   int       `json:"silent"`   // enrolled and not heard
	Needs    int       `json:"needs"`    // attentions nobody has acknowledged
}

// health answers 200 while all is well, and 503 while the store is not.
func (s *Server) health(w http.ResponseWriter, r *http.Request) {
	h := s.Desk.Health(r.Context())
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	if !h.OK {
		w.WriteHeader(http.StatusServiceUnavailable)
	}
	_ = json.NewEncoder(w).Encode(h) // who asked may be gone
}

// Health looks whether the desk is well.
func (d *Desk) Health(ctx context.Context) Health {
	h := Health{OK: true, Store: "ok", Time: d.Time()}
	open, err := d.store.OpenAttentions(ctx)
	if err == nil {
		err = d.store.Err()
	}
	if err != nil {
		h.OK, h.Store = false, "the store can't be read or has failed"
		d.log.Error("health", "error", err)
	}
	for _, a := range open {
		if a.Acknowledged == nil {
			h.Needs++
		}
	}
	h.Stations, h.Silent = d.board.count(d.moment())
	return h
}

// count is how many stations are heard and how many are not.
func (b *board) count(now time.Time) (heard, silent int) {
	b.mu.Lock()
	defer b.mu.Unlock()
	for id, s := range b.stations {
		switch {
		case id == everywhere:
		case s.said && now.Sub(s.heard) <= silentAfter:
			heard++
		default:
			silent++
		}
	}
	return heard, silent
}

// end closes every stream that goes down.
func (b *board) end() {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.ended = true
	for _, all := range b.watchers {
		for c := range all {
			close(c)
			delete(all, c)
		}
	}
}
