package link

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"strconv"
	"time"
)

// The most a body may have.
const (
	maxSmall   = 64 << 10
	maxUrgent  = 1<<20 + 4096 // one of the longest lines
	maxEntries = maxBatchBytes + 4096
)

// toSend is how long a body may take to come.
const toSend = 30 * time.Second

// Handler is the desk's end of the link, to be served with Attach. key is the
// desk's own.
func Handler(desk Desk, key Key, log *slog.Logger) http.Handler {
	h := &handler{desk: desk, own: key.Fingerprint(), log: log, now: time.Now}
	mux := http.NewServeMux()
	// A proof is over the desk's key, so a device first looks whom it talks to.
	mux.HandleFunc("GET /link/1/enrol", func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusNoContent) })
	mux.HandleFunc("POST /link/1/enrol", h.enrol)
	mux.HandleFunc("POST /link/1/marks", h.station(maxSmall, h.marks))
	mux.HandleFunc("POST /link/1/entries", h.station(maxEntries, h.entries))
	mux.HandleFunc("POST /link/1/urgent", h.station(maxUrgent, h.urgent))
	mux.HandleFunc("POST /link/1/status", h.station(maxSmall, h.status))
	mux.HandleFunc("GET /link/1/plan", h.station(0, h.plan))
	mux.HandleFunc("GET /link/1/recording", h.station(0, h.recording))
	mux.HandleFunc("GET /link/1/down", h.down)
	return mux
}

type handler struct {
	desk Desk
	own  string // fingerprint of the desk's key
	log  *slog.Logger
	now  func() time.Time
}

// shown is the fingerprint of the key that the other end showed in the
// handshake, empty where it showed none.
func shown(r *http.Request) string {
	if r.TLS == nil || len(r.TLS.PeerCertificates) == 0 || r.TLS.NegotiatedProtocol != ALPN {
		return ""
	}
	return Fingerprint(r.TLS.PeerCertificates[0].RawSubjectPublicKeyInfo)
}

// body reads a bounded body that must come in time.
func body(w http.ResponseWriter, r *http.Request, most int64) ([]byte, error) {
	_ = http.NewResponseController(w).SetReadDeadline(time.Now().Add(toSend)) // a server without deadlines has none to miss
	b, err := io.ReadAll(http.MaxBytesReader(w, r.Body, most))
	var big *http.MaxBytesError
	if err != nil && !errors.As(err, &big) {
		err = errForm{fmt.Errorf("reading the body: %w", err)}
	}
	return b, err
}

// station answers a request of an enrolled station with what answer gives, as
// JSON; nil is no content.
func (h *handler) station(most int64, answer func(r *http.Request, from Peer, body []byte) (any, error)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		from, err := h.peer(r)
		if err != nil {
			h.refuse(w, r, from, err)
			return
		}
		text, err := body(w, r, most)
		if err != nil {
			h.refuse(w, r, from, err)
			return
		}
		out, err := answer(r, from, text)
		switch {
		case err != nil:
			h.refuse(w, r, from, err)
		case out == nil:
			w.WriteHeader(http.StatusNoContent)
		default:
			w.Header().Set("Content-Type", "application/json")
			_ = json.NewEncoder(w).Encode(out) // a reply that is lost is asked for again
		}
	}
}

func (h *handler) peer(r *http.Request) (Peer, error) {
	key := shown(r)
	if key == "" {
		return Peer{}, ErrUnknown
	}
	return h.desk.Station(r.Context(), key)
}

func (h *handler) refuse(w http.ResponseWriter, r *http.Request, from Peer, err error) {
	p := problemOf(err)
	if !errors.Is(err, context.Canceled) {
		h.log.Warn("a station was refused", "path", r.URL.Path, "station", from.Name, "key", shown(r), "status", p.Status, "error", err)
	}
	p.write(w)
}

// address is where a device is. Nothing stands between it and the desk whose
// word on that could be taken.
func address(r *http.Request) string {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	return host
}

// enrol lets a device in.
func (h *handler) enrol(w http.ResponseWriter, r *http.Request) {
	text, err := body(w, r, maxSmall)
	var p Proof
	if err == nil {
		if err = decode(text, &p); err != nil {
			err = errForm{err}
		}
	}
	k := keys{station: shown(r), desk: h.own}
	if err == nil && (k.station == "" || len(p.Nonce) != 2*nonceBytes) {
		err = ErrCode
	}
	var e Enrolment
	if err == nil {
		e, err = h.desk.Enrol(r.Context(), k.station, address(r), func(code string) bool { return p.proves(code, k) })
	}
	if err != nil {
		h.refuse(w, r, Peer{}, err)
		return
	}
	h.log.Info("a station was enrolled", "station", e.Name, "key", k.station)
	w.Header().Set("Content-Type", "application/json")
	_ = json.NewEncoder(w).Encode(newWelcome(e, k, p)) // a device whose answer is lost needs a new code
}

func (h *handler) marks(r *http.Request, from Peer, text []byte) (any, error) {
	var asked MarksAsked
	if err := received(text, &asked); err != nil {
		return nil, errForm{err}
	}
	if len(asked.Epochs) > MaxEpochs {
		return nil, errForm{fmt.Errorf("%d epochs; at most %d", len(asked.Epochs), MaxEpochs)}
	}
	for _, e := range asked.Epochs {
		if !isEpoch(e) {
			return nil, errForm{fmt.Errorf("%q is not the name of an epoch", e)}
		}
	}
	marks, err := h.desk.Marks(r.Context(), from, asked.Epochs)
	return Marks{marks}, err
}

func (h *handler) entries(r *http.Request, from Peer, text []byte) (any, error) {
	b, err := ParseBatch(text)
	if err != nil {
		return nil, errForm{err}
	}
	return h.desk.Append(r.Context(), from, b)
}

func (h *handler) urgent(r *http.Request, from Peer, text []byte) (any, error) {
	u, err := ParseUrgent(text)
	if err != nil {
		return nil, errForm{err}
	}
	if !IsUrgent(u.Entry) {
		return nil, errForm{fmt.Errorf("a %s entry is not urgent", u.Entry.Kind)}
	}
	return nil, h.desk.Raise(r.Context(), from, u)
}

func (h *handler) status(r *http.Request, from Peer, text []byte) (any, error) {
	var s Status
	if err := received(text, &s); err != nil {
		return nil, errForm{err}
	}
	now := h.now() // before the desk takes its time over it
	return Met{now.UTC()}, h.desk.Status(r.Context(), from, s)
}

func (h *handler) plan(r *http.Request, from Peer, _ []byte) (any, error) {
	version, err := strconv.ParseInt(r.URL.Query().Get("version"), 10, 64)
	if err != nil {
		return nil, errForm{errors.New("a plan is asked for by ?version=N")}
	}
	return h.desk.Plan(r.Context(), from, version)
}

func (h *handler) recording(r *http.Request, from Peer, _ []byte) (any, error) {
	hash := r.URL.Query().Get("hash")
	if !isHash(hash) {
		return nil, errForm{errors.New("a recording is asked for by ?hash=SHA-256")}
	}
	return h.desk.Recording(r.Context(), from, hash)
}

// down tells a station what it is to know, for as long as it listens.
func (h *handler) down(w http.ResponseWriter, r *http.Request) {
	to, err := h.peer(r)
	if err != nil {
		h.refuse(w, r, to, err)
		return
	}
	changed, stop := h.desk.Watch(to)
	defer stop()
	w.Header().Set("Content-Type", "application/jsonl")
	s := stream{w: w, rc: http.NewResponseController(w), now: h.now}
	every := time.NewTicker(alive)
	defer every.Stop()
	for looks := true; ; {
		if looks {
			state, err := h.desk.State(r.Context(), to)
			switch {
			case errors.Is(err, ErrUnknown), errors.Is(err, ErrRevoked):
				return
			case err != nil:
				h.log.Error("what a station is to know can't be told", "station", to.Name, "error", err)
				return
			}
			if err := s.tell(state); err != nil {
				if bad := (*json.MarshalerError)(nil); errors.As(err, &bad) {
					h.log.Error("what a station is to know can't be written", "station", to.Name, "error", err)
				}
				return
			}
		}
		select {
		case <-r.Context().Done():
			return
		case _, open := <-changed:
			if looks = open; !open {
				return
			}
		case <-every.C:
			if looks = false; s.line(nil) != nil {
				return
			}
		}
	}
}

// stream is one station's stream down.
type stream struct {
	w    io.Writer
	rc   *http.ResponseController
	now  func() time.Time
	last string // what was told, without its time
}

// tell sends a state, unless it is the one told last.
func (s *stream) tell(state State) error {
	state.Now = time.Time{}
	line, err := json.Marshal(state)
	if err != nil {
		return err
	}
	if string(line) == s.last {
		return nil
	}
	s.last = string(line)
	state.Now = s.now().UTC()
	if line, err = json.Marshal(state); err != nil {
		return err
	}
	return s.line(line)
}

func (s *stream) line(line []byte) error {
	_ = s.rc.SetWriteDeadline(time.Now().Add(Silence)) // who no longer reads is gone
	if _, err := s.w.Write(append(line, '\n')); err != nil {
		return err
	}
	return s.rc.Flush()
}
