package linktest

import (
	"net"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Harm is what a proxy does to one connection. The zero Harm passes it on.
type Harm struct {
	UpAfter   int64         // cut the connection after that many bytes towards the desk; 0 never
	DownAfter int64         // cut it after that many bytes from the desk; 0 never
	Mute      int64         // lose everything from the desk after that many bytes; 0 never
	Stall     int64         // after that many bytes both ways pass nothing more, and keep the connection open; 0 never
	Delay     time.Duration // of each piece, each way
	// Late holds everything towards the desk back for that long, and brings it
	// there even when the station has long hung up: what was given up arrives
	// after what was sent instead.
	Late time.Duration
}

// Proxy stands between station and desk and harms each connection as it is
// told.
type Proxy struct {
	Addr   string
	target string
	harm   func(n int) Harm // of the n-th connection, from 0
	listen net.Listener
	stop   chan struct{}
	silent atomic.Bool
	all    sync.WaitGroup
	mu     sync.Mutex // guards conns and count
	conns  map[net.Conn]bool
	count  int
}

// NewProxy starts a proxy to the server; it ends with the test.
func NewProxy(t testing.TB, s *Server, harm func(n int) Harm) *Proxy {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	p := &Proxy{Addr: l.Addr().String(), target: s.Addr, harm: harm, listen: l, stop: make(chan struct{}), conns: map[net.Conn]bool{}}
	p.all.Go(p.accept)
	t.Cleanup(p.close)
	return p
}

// URL is the proxy's address.
func (p *Proxy) URL() string { return "https://" + p.Addr }

// Connections is how many there were.
func (p *Proxy) Connections() int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.count
}

// Silence passes nothing on any more, on no connection, and keeps them all
// open.
func (p *Proxy) Silence() { p.silent.Store(true) }

// Cut cuts every connection there is.
func (p *Proxy) Cut() {
	p.mu.Lock()
	defer p.mu.Unlock()
	for c := range p.conns {
		_ = c.Close()
	}
}

func (p *Proxy) close() {
	close(p.stop)
	_ = p.listen.Close()
	p.Cut()
	p.all.Wait()
}

func (p *Proxy) accept() {
	for {
		c, err := p.listen.Accept()
		if err != nil {
			return
		}
		p.mu.Lock()
		harm := p.harm(p.count)
		p.count++
		p.mu.Unlock()
		p.all.Go(func() { p.pass(c, harm) })
	}
}

// know keeps a connection so that it is closed at the end; false where that
// has come.
func (p *Proxy) know(c net.Conn) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	select {
	case <-p.stop:
		_ = c.Close()
		return false
	default:
		p.conns[c] = true
		return true
	}
}

func (p *Proxy) forget(c net.Conn) {
	p.mu.Lock()
	defer p.mu.Unlock()
	delete(p.conns, c)
	_ = c.Close()
}

func (p *Proxy) pass(station net.Conn, harm Harm) {
	if !p.know(station) {
		return
	}
	defer p.forget(station)
	desk, err := net.DialTimeout("tcp", p.target, 5*time.Second)
	if err != nil || !p.know(desk) {
		return
	}
	defer p.forget(desk)
	h := &harmed{Harm: harm, stop: p.stop, silent: &p.silent, station: station, desk: desk}
	var both sync.WaitGroup
	both.Go(h.up)
	both.Go(h.down)
	both.Wait()
}

// harmed is one connection.
type harmed struct {
	Harm
	stop          <-chan struct{}
	silent        *atomic.Bool
	station, desk net.Conn
	mu            sync.Mutex
	passed        int64 // both ways
}

// wait waits for a time; false where the test has ended.
func (h *harmed) wait(d time.Duration) bool {
	if d == 0 {
		return true
	}
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
		return true
	case <-h.stop:
		return false
	}
}

// stalled counts bytes, and holds on for ever once they are too many.
func (h *harmed) stalled(n int) bool {
	h.mu.Lock()
	h.passed += int64(n)
	over := h.Stall > 0 && h.passed > h.Stall || h.silent.Load()
	h.mu.Unlock()
	if over {
		<-h.stop
	}
	return over
}

func (h *harmed) cut() { _ = h.station.Close(); _ = h.desk.Close() }

func (h *harmed) up() {
	buf := make([]byte, 4096)
	var held []byte
	var sent int64
	for {
		n, err := h.station.Read(buf)
		if h.stalled(n) {
			return
		}
		if h.Late > 0 && sent > late { // the handshake passes
			held = append(held, buf[:n]...)
			if err != nil {
				if h.wait(h.Late) {
					_, _ = h.desk.Write(held)
					h.wait(h.Late)
				}
				h.cut()
				return
			}
			continue
		}
		if h.UpAfter > 0 && sent+int64(n) >= h.UpAfter {
			_, _ = h.desk.Write(buf[:h.UpAfter-sent])
			h.wait(5 * time.Millisecond) // what was let through arrives
			h.cut()
			return
		}
		if !h.wait(h.Delay) {
			return
		}
		sent += int64(n)
		if _, e := h.desk.Write(buf[:n]); e != nil || err != nil {
			h.cut()
			return
		}
	}
}

// late is how many bytes towards the desk pass before the rest comes late: a
// handshake and a first request have more.
const late = 1500

func (h *harmed) down() {
	buf := make([]byte, 4096)
	var sent int64
	for {
		n, err := h.desk.Read(buf)
		if h.stalled(n) {
			return
		}
		muted := h.Mute > 0 && sent+int64(n) > h.Mute
		if h.DownAfter > 0 && sent+int64(n) >= h.DownAfter {
			_, _ = h.station.Write(buf[:h.DownAfter-sent])
			h.cut()
			return
		}
		if !h.wait(h.Delay) {
			return
		}
		sent += int64(n)
		if err != nil {
			if h.Late == 0 { // what is held back still has to arrive
				h.cut()
			}
			return
		}
		if muted {
			continue
		}
		if _, e := h.station.Write(buf[:n]); e != nil && h.Late == 0 {
			h.cut()
			return
		}
	}
}
