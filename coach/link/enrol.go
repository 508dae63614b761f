package link

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"time"
)

// toEnrol is how long letting a device in may take.
const toEnrol = 20 * time.Second

// Enrol makes this device known to the desk at an address, by a one-time code
// in the form of [ParseCode], and keeps in the data folder what it was given:
// whole, or nothing at all. What was there before is replaced only then.
// A *[Refused] is the desk's refusal; ErrImpostor says that who answered does
// not know the code.
func Enrol(ctx context.Context, address, code, dir string) (*Identity, error) {
	host, err := hostOf(address)
	if err != nil {
		return nil, err
	}
	if code, err = ParseCode(code); err != nil {
		return nil, err
	}
	key, err := NewKey()
	if err != nil {
		return nil, err
	}
	var desk string // who answered
	l, err := newLine(host, key, func(f string) bool {
		same := desk == "" || desk == f
		desk = f
		return same
	}, toEnrol)
	if err != nil {
		return nil, err
	}
	defer l.cut()
	id, err := l.enrol(ctx, code, key, &desk)
	if err != nil {
		return nil, err
	}
	id.URL = address
	return id, id.replace(dir)
}

// replace keeps the identity in the place of the one before. Another desk's
// plan does not stay behind.
func (id *Identity) replace(dir string) error {
	before, err := ReadIdentity(dir)
	if err == nil && before.Desk != id.Desk {
		if err := errors.Join(forget(dir, keptFile), forget(dir, carriedFile)); err != nil {
			return err
		}
	}
	return id.write(dir)
}

func forget(dir, name string) error {
	if err := os.Remove(filepath.Join(dir, name)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("forgetting what another desk sent: %w", err)
	}
	return nil
}

// ErrImpostor says that who answered does not know the code, though it said
// that it lets this device in.
var ErrImpostor = errors.New("who answers there does not know the code: this is not the desk, or something stands between; nothing was kept")

func (l *line) enrol(ctx context.Context, code string, key Key, desk *string) (*Identity, error) {
	// The proof is over the desk's key, so the handshake comes first.
	if err := l.ask(ctx, toEnrol, http.MethodGet, "/link/1/enrol", nil, nil); err != nil {
		return nil, fmt.Errorf("reaching the desk: %w", err)
	}
	seen := *desk
	k := keys{station: key.Fingerprint(), desk: seen}
	p, err := newProof(code, k)
	if err != nil {
		return nil, err
	}
	var w Welcome
	if err := l.ask(ctx, toEnrol, http.MethodPost, "/link/1/enrol", asJSON(p), &w); err != nil {
		return nil, fmt.Errorf("asking the desk to let this device in: %w", err)
	}
	secret, err := hex.DecodeString(w.Secret)
	if err != nil || len(secret) != secretBytes || w.Name == "" || !w.proves(code, k, p) {
		return nil, ErrImpostor
	}
	return &Identity{Name: w.Name, Desk: seen, Key: key, Secret: secret}, nil
}
