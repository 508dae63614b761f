package link

import (
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"

	"github.com/google/renameio/v2"
)

// Identity is what a station was given when it was enrolled, kept in one file
// of its data folder that only it may read.
type Identity struct {
	URL    string // of the desk that let it in, as it was given
	Name   string // of the station, at the desk
	Desk   string // fingerprint of the desk's key
	Key    Key    // the station's own
	Secret []byte // shared with the desk, for telephone codes
}

// ErrNotEnrolled says that no desk has let this device in.
var ErrNotEnrolled = errors.New("this device is not enrolled at a desk; station enrol does that")

const (
	identityFile   = "link.json"
	identityFormat = "evenbell-identity/1"
)

type identityText struct {
	Format string `json:"format"`
	URL    string `json:"url"`
	Name   string `json:"name"`
	Desk   string `json:"desk"`
	Key    string `json:"key"`
	Secret string `json:"secret"`
}

// ReadIdentity reads the identity in a data folder: ErrNotEnrolled.
func ReadIdentity(dir string) (*Identity, error) {
	text, err := os.ReadFile(filepath.Join(dir, identityFile))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, ErrNotEnrolled
	}
	if err != nil {
		return nil, fmt.Errorf("reading who this device is: %w", err)
	}
	id, err := parseIdentity(text)
	if err != nil {
		return nil, fmt.Errorf("reading who this device is, from %s: %w; enrol it again", identityFile, err)
	}
	return id, nil
}

func parseIdentity(text []byte) (*Identity, error) {
	var t identityText
	if err := decode(text, &t); err != nil {
		return nil, err
	}
	if t.Format != identityFormat {
		return nil, fmt.Errorf("its format is %q, and this program reads %s", t.Format, identityFormat)
	}
	key, err := ParseKey([]byte(t.Key))
	if err != nil {
		return nil, err
	}
	secret, err := hex.DecodeString(t.Secret)
	if err != nil || len(secret) != secretBytes {
		return nil, errors.New("the secret is not 32 bytes in hexadecimal")
	}
	return &Identity{URL: t.URL, Name: t.Name, Desk: t.Desk, Key: key, Secret: secret}, nil
}

const secretBytes = 32

// write keeps the identity in a data folder, whole or not at all.
func (id *Identity) write(dir string) error {
	text, err := json.MarshalIndent(identityText{identityFormat, id.URL, id.Name, id.Desk, string(id.Key.PEM()), hex.EncodeToString(id.Secret)}, "", "  ")
	if err != nil {
		return fmt.Errorf("keeping who this device is: %w", err)
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("keeping who this device is: %w", err)
	}
	if err := keepWhole(dir, identityFile, append(text, '\n')); err != nil {
		return fmt.Errorf("keeping who this device is: %w", err)
	}
	return nil
}

// keepWhole puts a file that only its owner may read into a folder: it is
// there whole, and durable, or the old one is. It belongs to whom the folder
// belongs to, for a technician may be root and the station is not.
func keepWhole(dir, name string, text []byte) error {
	folder, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer folder.Close()
	file, err := renameio.NewPendingFile(filepath.Join(dir, name), renameio.WithPermissions(0o600), renameio.IgnoreUmask())
	if err != nil {
		return err
	}
	defer file.Cleanup()
	info, err := folder.Stat()
	if err != nil {
		return err
	}
	if owner, ok := info.Sys().(*syscall.Stat_t); ok && os.Geteuid() == 0 {
		if err := file.Chown(int(owner.Uid), int(owner.Gid)); err != nil {
			return err
		}
	}
	if _, err := file.Write(text); err != nil {
		return err
	}
	if err := file.CloseAtomicallyReplace(); err != nil {
		return err
	}
	return folder.Sync()
}
