package desk

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"evenbell/coach"
	"evenbell/coach/desk/store"
	"evenbell/coach/protocol"
)

// ProtocolVersion is one version of the clinic's protocol, read.
type ProtocolVersion struct {
	store.Protocol
	Read        *protocol.Protocol // nil where this program reads it no more
	Differences []protocol.Difference
	Signed      string // by whom; empty while it does nothing
	SignedAt    time.Time
	InForce     bool
}

// signatureSetting holds who signed which version, newest last.
const signatureSetting = "protocol signatures"

type signature struct {
	Version int64     `json:"version"`
	By      string    `json:"by"`
	At      time.Time `json:"at"`
}

func (d *Desk) signatures(ctx context.Context) ([]signature, error) {
	text, err := d.store.Setting(ctx, signatureSetting)
	if err != nil || text == "" {
		return nil, err
	}
	var all []signature
	if err := json.Unmarshal([]byte(text), &all); err != nil {
		return nil, fmt.Errorf("reading who signed the protocol: %w", err)
	}
	return all, nil
}

// inForce is the version signed last; nil for the built-in protocol.
func (d *Desk) protocolInForce(ctx context.Context) (*store.Protocol, error) {
	signed, err := d.signatures(ctx)
	if err != nil || len(signed) == 0 {
		return nil, err
	}
	all, err := d.store.Protocols(ctx)
	if err != nil {
		return nil, err
	}
	for _, p := range all {
		if p.Version == signed[len(signed)-1].Version {
			return &p, nil
		}
	}
	return nil, fmt.Errorf("version %d of the protocol was signed and is not there", signed[len(signed)-1].Version)
}

// protocolName is what faults call the clinic's own protocol.
const protocolName = "protocol.toml"

// Protocol is the protocol in force: the version signed last, or the built-in
// one. A protocol that can't be read any more stops the work rather than
// loosening a limit.
func (d *Desk) Protocol(ctx context.Context) (*protocol.Protocol, error) {
	p, err := d.protocolInForce(ctx)
	if err != nil || p == nil {
		return protocol.Default(), err
	}
	read, faults := protocol.Read(protocolName, []byte(p.Text))
	if read == nil {
		return nil, fmt.Errorf("the clinic's protocol, version %d: %w", p.Version, Faulty{faults})
	}
	return read, nil
}

// protocolText is the text of the protocol in force, empty for the built-in.
func (d *Desk) protocolText(ctx context.Context) (string, error) {
	p, err := d.protocolInForce(ctx)
	if err != nil || p == nil {
		return "", err
	}
	return p.Text, nil
}

// Protocols are the versions written, newest first (SeePatients or
// WriteProtocol).
func (d *Desk) Protocols(ctx context.Context, who Actor) ([]ProtocolVersion, error) {
	if !who.May(SeePatients) && !who.May(WriteProtocol) {
		return nil, who.check(WriteProtocol)
	}
	all, err := d.store.Protocols(ctx)
	if err != nil {
		return nil, err
	}
	signed, err := d.signatures(ctx)
	if err != nil {
		return nil, err
	}
	var out []ProtocolVersion
	for _, p := range all {
		out = append(out, readVersion(p, signed))
	}
	return out, nil
}

func readVersion(p store.Protocol, signed []signature) ProtocolVersion {
	v := ProtocolVersion{Protocol: p}
	v.Read, _ = protocol.Read(protocolName, []byte(p.Text))
	if v.Read != nil {
		v.Differences = v.Read.Differences()
	}
	for i, s := range signed {
		if s.Version == p.Version {
			v.Signed, v.SignedAt, v.InForce = s.By, s.At, i == len(signed)-1
		}
	}
	return v
}

// WriteProtocol keeps a new version (WriteProtocol); Faulty where it has
// faults. It holds once a supervisor has signed it.
func (d *Desk) WriteProtocol(ctx context.Context, who Actor, text string) (v ProtocolVersion, err error) {
	if err := who.check(WriteProtocol); err != nil {
		return v, err
	}
	read, faults := protocol.Read(protocolName, []byte(text))
	if read == nil {
		return v, Faulty{coach.Errors(faults)}
	}
	p := store.Protocol{Text: text, By: who.Name, At: d.Time()}
	err = d.change(ctx, func(ctx context.Context) (err error) {
		if p, err = d.store.AddProtocol(ctx, p); err != nil {
			return err
		}
		return d.audit(ctx, who, WriteProtocol, fmt.Sprintf("protocol %d", p.Version), fmt.Sprintf("%d difference(s) from the defaults", len(read.Differences())))
	})
	return readVersion(p, nil), err
}

// SignProtocol puts a version in force by the actor's name (SignProtocol).
// Plans on stations stay as they were approved; new ones are checked by it.
func (d *Desk) SignProtocol(ctx context.Context, who Actor, version int64) error {
	if err := who.check(SignProtocol); err != nil {
		return err
	}
	err := d.change(ctx, func(ctx context.Context) error {
		all, err := d.store.Protocols(ctx)
		if err != nil {
			return err
		}
		if err := signable(all, version); err != nil {
			return err
		}
		signed, err := d.signatures(ctx)
		if err != nil {
			return err
		}
		text, err := json.Marshal(append(signed, signature{version, who.Name, d.Time()}))
		if err != nil {
			return err
		}
		if err := d.store.SetSetting(ctx, signatureSetting, string(text)); err != nil {
			return err
		}
		return d.audit(ctx, who, SignProtocol, fmt.Sprintf("protocol %d", version), "signed, in force")
	})
	if err == nil {
		d.allStationsChanged()
	}
	return err
}

func signable(all []store.Protocol, version int64) error {
	for _, p := range all {
		if p.Version != version {
			continue
		}
		if read, faults := protocol.Read(protocolName, []byte(p.Text)); read == nil {
			return Faulty{coach.Errors(faults)}
		}
		return nil
	}
	return fmt.Errorf("%w: version %d of the protocol", ErrNotFound, version)
}

// notFound turns the store's word for it into ours.
func notFound(err error, format string, args ...any) error {
	if errors.Is(err, store.ErrNotFound) {
		return fmt.Errorf("%w: %s", ErrNotFound, fmt.Sprintf(format, args...))
	}
	return err
}
