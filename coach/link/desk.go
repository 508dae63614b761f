package link

import (
	"context"
	"errors"
)

// Peer is a station that the desk has let in.
type Peer struct {
	ID   int64  // the desk's own number for it
	Name string // such as "Bay 3"
	Key  string // fingerprint of its key
}

// What a Desk refuses with; wrap them freely. Any other error is the desk's
// own trouble: the station is told that the desk could not, and tries again.
var (
	// ErrCode refuses an enrolment. Wrong, expired, used and guessed too often
	// are not told apart on the wire.
	ErrCode = errors.New("this code lets nobody in")
	// ErrTries refuses to look at a code: too many were wrong lately.
	ErrTries = errors.New("too many wrong codes were tried; wait a quarter of an hour and try again")
	// ErrUnknown refuses a key that was never enrolled.
	ErrUnknown = errors.New("this device is not enrolled here")
	// ErrRevoked refuses a key that was let in and then revoked.
	ErrRevoked = errors.New("this device was shut out")
	// ErrChain refuses a batch that does not continue what the desk has.
	ErrChain = errors.New("these entries do not continue the log")
	// ErrNoPlan is for a plan that the desk does not have, or no longer.
	ErrNoPlan = errors.New("there is no such plan")
	// ErrNoRecording is for a recording that this station's plan does not use,
	// or no longer.
	ErrNoRecording = errors.New("there is no such recording")
)

// Desk is what the desk's end of the link asks of the desk. Its methods are
// called from many goroutines at once, several at a time for one station.
type Desk interface {
	Enroller
	Receiver
	Informer
}

// Enroller lets devices in.
type Enroller interface {
	// Enrol lets a device in. key is the fingerprint of the key it showed in
	// the handshake; proves tells whether it knows a code, in constant time.
	// In one transaction the desk finds the open code (unused, not expired,
	// fewer than five wrong tries) that proves is true of, marks it used, gives
	// its station this key and a new secret, and ends what an older key of that
	// station was good for. Where there is none, it counts a wrong try against
	// every open code, since nothing says which was meant, and refuses with
	// ErrCode. address is where the device is, without a port: the desk may
	// refuse one that was often wrong with ErrTries, without a look at any code.
	Enrol(ctx context.Context, key, address string, proves func(code string) bool) (Enrolment, error)
	// Station finds who a key belongs to: ErrUnknown, ErrRevoked. It is asked at
	// every request and must be quick.
	Station(ctx context.Context, key string) (Peer, error)
}

// Enrolment is what a code was good for.
type Enrolment struct {
	Code   string // the one that was proved
	Name   string // of the station
	Secret []byte // 32 new random bytes, shared with the station
}

// Receiver takes what comes up.
type Receiver interface {
	// Marks gives the desk's mark of each epoch asked for, in that order; 0
	// where it has nothing of it.
	Marks(ctx context.Context, from Peer, epochs []string) ([]Mark, error)
	// Append stores a batch with effect once and gives the mark of its epoch as
	// it is then, on the disk. In the inserting transaction the desk compares
	// its mark m and hash with the batch:
	//
	//   - b.After > m, not b.Gone: nothing is stored; the mark is the answer.
	//   - b.After > m, b.Gone: entries m+1 to b.After are lost for good. That is
	//     kept as a break, and the batch is stored.
	//   - b.After <= m: entries up to m are passed over, and the rest is stored
	//     where the hash at m is the desk's own. Otherwise the log was forged or
	//     damaged: a break is kept for people to look at, and the rest is either
	//     refused with ErrChain or kept beside it.
	//
	// A "clear" entry by telephone ends the tag's holds that came from entries
	// of this station before it, also where the desk learns of both only now.
	//
	// The batch is whole in itself: numbers without gaps, every line an entry of
	// that epoch and number, hashes worked out from b.Before.
	Append(ctx context.Context, from Peer, b Batch) (Mark, error)
	// Raise takes an entry that people must see now. It comes again in a batch,
	// and may come again here: one attention stands for (station, epoch, seq).
	Raise(ctx context.Context, from Peer, u Urgent) error
	// Status takes how the station is. One with the Boot of the last and an
	// earlier MonoNS is stale and is passed over.
	Status(ctx context.Context, from Peer, s Status) error
}

// Informer gives what goes down.
type Informer interface {
	// State is what the station is to know now. ErrUnknown and ErrRevoked end
	// the stream.
	State(ctx context.Context, to Peer) (State, error)
	// Watch gives a channel with a token whenever State may give something else,
	// also when the station is revoked. The desk closes it to end the stream.
	// stop says that nobody looks at it any more, and is called once.
	Watch(to Peer) (changed <-chan struct{}, stop func())
	// Plan gives the plan of a version: ErrNoPlan.
	Plan(ctx context.Context, to Peer, version int64) (Plan, error)
	// Recording gives a recording that the State names, by its hash:
	// ErrNoRecording.
	Recording(ctx context.Context, to Peer, hash string) (Recording, error)
}
