package sink

import (
	"fmt"
	"net"
	"sync"
	"time"

	"github.com/jfreymuth/pulse/proto"
)

// dummyOutput is the sink that PulseAudio and PipeWire put up where there is
// no real one.
const dummyOutput = "auto_null"

// reply is how long the server may take over one request; with the moment
// after which Write asks, it is no longer than Patience.
const reply = Patience - odd

// odd is how long it may take no sound before that looks odd.
const odd = Patience / 4

// Pulse plays through a PulseAudio or PipeWire server. It speaks the server's
// own protocol, because the stream above it in the library hides three things
// that matter here: a stream that was killed still reads as running there,
// what was flushed is not counted, and a lag can't be asked for.
//
// The stream may not be moved: where its output vanishes the server kills it,
// rather than let the sound come out of another place.
type Pulse struct {
	client *proto.Client
	conn   net.Conn
	stream proto.CreatePlaybackStreamReply
	bytes  []byte // a block on its way, kept to be used again
	closed bool

	mu        sync.Mutex
	room      int   // bytes the server has asked for and not been sent
	cause     error // why the device is gone, nil while it is not
	begun     bool  // it has played something
	playing   bool  // between a Started and an Underflow, Drop or Close
	underruns int
	news      chan struct{} // holds a token when room or cause has changed
}

// NewPulse connects to a server and opens a stream on its default output. The
// empty string means the usual server (PULSE_SERVER, or the user's own).
func NewPulse(server string) (*Pulse, error) {
	client, conn, err := proto.Connect(server)
	if err != nil {
		return nil, fmt.Errorf("connecting to PulseAudio: %w", err)
	}
	client.SetTimeout(reply)
	p := &Pulse{client: client, conn: conn, news: make(chan struct{}, 1)}
	client.Callback = p.hear
	err = p.open()
	if err == nil {
		err = p.prime()
	}
	if err != nil {
		conn.Close()
		return nil, fmt.Errorf("opening a PulseAudio stream: %w", err)
	}
	return p, nil
}

// open makes the stream: Buffer samples long, lag of the device included, and
// asked to be filled in eighths. The server gives three eighths to the device
// and keeps five; playing begins with a little more than the device's share,
// or it would run dry at its first breath, and less than the server's share
// short of one request, or it might never begin.
func (p *Pulse) open() error {
	props := proto.PropList{
		"application.name": proto.PropListString("evenbell"),
		"media.name":       proto.PropListString("coaching"),
	}
	if err := p.client.Request(&proto.SetClientName{Props: props}, &proto.SetClientNameReply{}); err != nil {
		return err
	}
	request := &proto.CreatePlaybackStream{
		SampleSpec:            proto.SampleSpec{Format: proto.FormatInt16LE, Channels: 1, Rate: Rate},
		ChannelMap:            proto.ChannelMap{proto.ChannelMono},
		ChannelVolumes:        proto.ChannelVolumes{uint32(proto.VolumeNorm)},
		SinkIndex:             proto.Undefined,
		BufferMaxLength:       proto.Undefined,
		BufferTargetLength:    2 * Buffer,
		BufferPrebufferLength: 2 * Buffer * 7 / 16,
		BufferMinimumRequest:  2 * Buffer / 8,
		AdjustLatency:         true,
		NoMove:                true,
		Properties:            props,
	}
	if err := p.client.Request(request, &p.stream); err != nil {
		return err
	}
	p.mu.Lock()
	p.room += int(p.stream.Missing) // beside what the server may have asked for since
	p.mu.Unlock()
	return nil
}

// prime plays a little silence to the point where the server says that it has
// started, and takes back the rest. An output that plays nothing is found out
// before anybody relies on it, and one that idles with seconds of silence
// under way (the null output does) is through with them.
func (p *Pulse) prime() error {
	if err := p.Write(make([]int16, Buffer/2)); err != nil {
		return err
	}
	late := time.NewTimer(opening)
	defer late.Stop()
	for {
		p.mu.Lock()
		begun, cause := p.begun, p.cause
		p.mu.Unlock()
		if cause != nil {
			return cause
		}
		if begun {
			_, err := p.Drop()
			p.mu.Lock()
			p.underruns = 0
			p.mu.Unlock()
			return err
		}
		select {
		case <-p.news:
		case <-late.C:
			return p.lost(fmt.Errorf("output %s did not begin to play within %v", p.Output(), opening))
		}
	}
}

// Output is the server's name for where the sound goes.
func (p *Pulse) Output() string { return p.stream.SinkName }

// Write sends the block as the server asks for it.
func (p *Pulse) Write(block []int16) error {
	if p.closed {
		return errClosed
	}
	p.bytes = pcm(p.bytes[:0], block)
	for left := p.bytes; len(left) > 0; {
		n, err := p.claim(len(left))
		if err != nil {
			return err
		}
		if err := p.client.Send(p.stream.StreamIndex, left[:n]); err != nil {
			return p.lost(err)
		}
		left = left[n:]
	}
	return nil
}

// claim takes at most want bytes of the room there is, waiting for some. Where
// none comes for longer than the buffer lasts, it asks whether the server is
// still there.
func (p *Pulse) claim(want int) (int, error) {
	long := time.NewTicker(odd)
	defer long.Stop()
	for giveUp := time.Now().Add(Patience); ; {
		p.mu.Lock()
		n, cause := min(want, p.room), p.cause
		p.room -= n
		p.mu.Unlock()
		if cause != nil || n > 0 {
			return n, cause
		}
		select {
		case <-p.news:
		case <-long.C:
			if _, _, err := p.lag(); err != nil {
				return 0, err
			}
			if time.Now().After(giveUp) {
				return 0, p.lost(fmt.Errorf("it took no sound for %v", Patience))
			}
		}
	}
}

// Delay asks the server what it holds and how far its device lags.
func (p *Pulse) Delay() (int, error) {
	queued, lag, err := p.lag()
	return queued + lag, err
}

// lag is how many samples wait in the stream and how many are beyond it.
func (p *Pulse) lag() (queued, beyond int, err error) {
	if p.closed {
		return 0, 0, errClosed
	}
	r := &proto.GetPlaybackLatencyReply{}
	if err := p.request(&proto.GetPlaybackLatency{StreamIndex: p.stream.StreamIndex}, r); err != nil {
		return 0, 0, err
	}
	queued = max(0, int(r.WriteIndex-r.ReadIndex)/2)
	return queued, int(r.Latency) * (Rate / 1000) / 1000, nil
}

// Drop pauses the stream, which takes back what the device has not played,
// counts and flushes it, and lets the stream run again.
func (p *Pulse) Drop() (int, error) {
	if p.closed {
		return 0, errClosed
	}
	p.mu.Lock()
	p.playing = false // running dry is now no underrun
	p.mu.Unlock()
	index := p.stream.StreamIndex
	if err := p.request(&proto.CorkPlaybackStream{StreamIndex: index, Corked: true}, nil); err != nil {
		return 0, err
	}
	dropped, _, err := p.lag()
	if err != nil {
		return 0, err
	}
	if err := p.request(&proto.FlushPlaybackStream{StreamIndex: index}, nil); err != nil {
		return 0, err
	}
	return dropped, p.request(&proto.CorkPlaybackStream{StreamIndex: index, Corked: false}, nil)
}

// Underruns counts how often the stream ran dry.
func (p *Pulse) Underruns() int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.underruns
}

// Close drains the stream and leaves the server.
func (p *Pulse) Close() error {
	if p.closed {
		return nil
	}
	p.closed = true
	p.mu.Lock()
	p.playing = false
	err := p.cause
	p.mu.Unlock()
	if err == nil {
		index := p.stream.StreamIndex
		err = p.request(&proto.DrainPlaybackStream{StreamIndex: index}, nil)
		if err == nil {
			err = p.request(&proto.DeletePlaybackStream{StreamIndex: index}, nil)
		}
	}
	p.conn.Close()
	return err
}

// request asks the server and waits for its reply.
func (p *Pulse) request(r proto.RequestArgs, into proto.Reply) error {
	if err := p.client.Request(r, into); err != nil {
		return p.lost(err)
	}
	return nil
}

// lost remembers the first reason for which the device is gone.
func (p *Pulse) lost(why error) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.cause == nil {
		p.cause = fmt.Errorf("PulseAudio: %w: %w", ErrGone, why)
	}
	return p.cause
}

// hear takes what the server says unasked, on the library's reading goroutine.
func (p *Pulse) hear(message any) {
	switch m := message.(type) {
	case *proto.Request:
		p.mu.Lock()
		p.room += int(m.Length)
		p.mu.Unlock()
	case *proto.Started:
		p.mu.Lock()
		p.begun, p.playing = true, true
		p.mu.Unlock()
	case *proto.Underflow:
		p.mu.Lock()
		if p.playing {
			p.underruns++
		}
		p.playing = false
		p.mu.Unlock()
	case *proto.PlaybackStreamKilled:
		p.lost(fmt.Errorf("output %s was removed", p.Output()))
	case *proto.ConnectionClosed:
		p.lost(fmt.Errorf("the server closed the connection"))
	default:
		return
	}
	select {
	case p.news <- struct{}{}:
	default:
	}
}
