package link

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
)

// decode reads one JSON value of a file and nothing else; keys it does not
// know are an error.
func decode(b []byte, into any) error { return decodeOne(b, into, true) }

// received reads one JSON value that came over the link. Keys it does not know
// are passed over: one end may be newer than the other, and neither must lose
// the other over a key that was added.
func received(b []byte, into any) error { return decodeOne(b, into, false) }

func decodeOne(b []byte, into any, strictly bool) error {
	d := json.NewDecoder(bytes.NewReader(b))
	if strictly {
		d.DisallowUnknownFields()
	}
	if err := d.Decode(into); err != nil {
		if errors.Is(err, io.EOF) {
			err = errors.New("it is empty")
		}
		return fmt.Errorf("reading JSON: %w", err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return errors.New("reading JSON: something follows the value")
	}
	return nil
}
