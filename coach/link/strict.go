package link

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
)

// decode reads one JSON value and nothing else; keys it does not know are an
// error.
func decode(b []byte, into any) error {
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
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
