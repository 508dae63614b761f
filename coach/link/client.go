package link

import (
	"context"
	"log/slog"
	"sync"
	"time"

	"evenbell/coach/journal"
)

// LogReader reads the station's log. One goroutine uses it. A *journal.Reader
// is one.
type LogReader interface {
	Unsent(limit int) (journal.Stretch, error)
	CountUnsent() (int64, error)
	Acknowledged() ([]journal.Position, error)
	After(p journal.Position, limit int) ([]journal.Record, error)
	Head() (journal.Position, error)
	Close() error
}

// LogMarker notes how much of the log the desk has. A *journal.Journal is one.
type LogMarker interface {
	Acknowledge(journal.Position) error
	Rewind(journal.Position) error
}

// PlanKeeper keeps the desk's plan on the station.
type PlanKeeper interface {
	// Has is the hash of the plan that is kept, empty for none.
	Has() string
	// Keep keeps a plan durably, as it was by the desk's clock, and forgets the
	// one before; the zero Plan is none. Whether it is good for anything is not
	// asked here.
	Keep(p Plan, at time.Time) error
	// Spoke keeps durably when, by the desk's clock, it last said something new
	// of who is held: what a stick brings that is older is not taken.
	Spoke(at time.Time) error
}

// RecordingKeeper keeps the recorded lines of the desk's plan on the station.
type RecordingKeeper interface {
	// Lacks are those of the recordings that are not here whole, by their hash.
	Lacks(hashes []string) []string
	// Keep keeps a recording durably, whole or not at all.
	Keep(r Recording) error
	// Only forgets all but these.
	Only(hashes []string) error
}

// Config is what a Client is made from.
type Config struct {
	Data   string                    // the folder with the identity
	URL    string                    // of the desk, or Discovery
	Boot   string                    // of this run of the machine
	Marker LogMarker                 // the log being written
	Open   func() (LogReader, error) // opens the same log to read
	Plans  PlanKeeper
	// Recordings are fetched for it; nil where nobody wants any.
	Recordings RecordingKeeper
	// Status says how the station is; what only the Client knows is filled in.
	// It must be quick.
	Status func() Status
	// Told is called with what the desk says, whenever that has changed and when
	// it comes first on a connection. It must be quick.
	Told func(State)
	// Linked is called when the desk has been reached, and when it was lost.
	Linked func(up bool)
	Log    *slog.Logger
}

// Client is the station's end of the link. Run owns all its goroutines; the
// other methods may be called at any time and never wait.
type Client struct {
	Config
	logged, changed, planned chan struct{} // each holds one token
	lanes                    []*lane
	down, plan               *lane
	status, alert, backlog   *lane

	finding sync.Mutex // guards found; held while the desk is looked for
	found   string     // where it was found on the local network
	foundAt time.Time

	mu      sync.Mutex // guards what follows; never held while anything is waited for
	up      bool
	linked  int64 // how often the desk was reached
	state   State
	acked   map[string]int64 // what the desk has, by epoch, as far as learnt
	contact *Contact
	unsent  int64
}

// NewClient makes a client that does nothing until it is run.
func NewClient(c Config) *Client {
	l := &Client{Config: c, logged: make(chan struct{}, 1), changed: make(chan struct{}, 1), planned: make(chan struct{}, 1),
		acked: map[string]int64{}}
	const calm = 30 * time.Second // the longest wait before another try
	l.down, l.plan, l.status = l.lane("down", ping, Silence), l.lane("plan", ping, calm), l.lane("status", ping, Silence)
	// A stop may wait for nobody, and a backlog may fill a slow network for
	// longer than a ping should take.
	l.alert, l.backlog = l.lane("urgent", ping, 2*time.Second), l.lane("entries", 3*ping, calm)
	return l
}

// Run keeps the link until ctx is done.
func (c *Client) Run(ctx context.Context) {
	var all sync.WaitGroup
	for _, work := range []func(context.Context){c.listen, c.fetch, c.report, c.raise, c.upload} {
		all.Go(func() { work(ctx) })
	}
	all.Wait()
	for _, n := range c.lanes {
		n.drop()
	}
}

// Logged says that something was added to the log.
func (c *Client) Logged() { signal(c.logged); signal(c.alert.wake) }

// Changed says that the status has changed in a way people wait for.
func (c *Client) Changed() { signal(c.changed) }

// Refetch says that something the desk sent is no longer here whole.
func (c *Client) Refetch() { signal(c.planned) }

// Up reports whether the desk is there.
func (c *Client) Up() bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.up
}

// State is the last that the desk said, and whether it said anything yet.
func (c *Client) State() (State, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.state, !c.state.Now.IsZero()
}

func signal(ch chan struct{}) {
	select {
	case ch <- struct{}{}:
	default: // it is going to look anyway
	}
}

// setUp notes whether the desk is there, and tells who wants to know.
func (c *Client) setUp(up bool) {
	c.mu.Lock()
	was := c.up
	c.up = up
	if up && !was {
		c.linked++
	}
	c.mu.Unlock()
	if up == was {
		return
	}
	if up {
		c.wakeAll()
	}
	c.Linked(up)
}

// wakeAll lets every lane that waits to try again try now.
func (c *Client) wakeAll() {
	for _, n := range c.lanes {
		signal(n.wake)
	}
}

// times is how often the desk was reached.
func (c *Client) times() int64 {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.linked
}
