package gpio

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"unsafe"

	"golang.org/x/sys/unix"

	"evenbell/hardware/ioctl"
)

// system is where the devices are.
type system struct {
	dev   string // the folder of the chips
	pwm   string // the folder of the PWM chips
	ioctl ioctl.Func
}

// kernel is the machine that the program runs on.
var kernel = system{dev: "/dev", pwm: "/sys/class/pwm", ioctl: ioctl.Kernel}

// open opens a chip that must have a line.
func (s system) open(chip string, line int) (*os.File, error) {
	path, err := s.find(chip)
	if err != nil {
		return nil, err
	}
	file, lines, _, err := s.look(path)
	if err != nil {
		return nil, err
	}
	if line < 0 || line >= lines {
		file.Close()
		return nil, fmt.Errorf("%s has no line %d; it has 0 to %d", chip, line, lines-1)
	}
	return file, nil
}

// look opens a chip and asks what it is.
func (s system) look(path string) (file *os.File, lines int, label string, err error) {
	if file, err = os.Open(path); err != nil {
		return nil, 0, "", fmt.Errorf("opening a GPIO chip: %w", err)
	}
	var info unix.GPIOChipInfo
	if err := s.ioctl.On(file, unix.GPIO_GET_CHIPINFO_IOCTL, unsafe.Pointer(&info)); err != nil {
		file.Close()
		return nil, 0, "", fmt.Errorf("%s is no GPIO chip: %w", path, err)
	}
	label, _, _ = strings.Cut(string(info.Label[:]), "\x00")
	return file, int(info.Lines), label, nil
}

// find is the path of a chip that is named by its path, by its name in the
// folder, or by its label, which stays the same where the names do not.
func (s system) find(chip string) (string, error) {
	if filepath.IsAbs(chip) {
		return chip, nil
	}
	path := filepath.Join(s.dev, chip)
	if _, err := os.Stat(path); err == nil {
		return path, nil
	}
	paths, err := filepath.Glob(filepath.Join(s.dev, "gpiochip*"))
	if err != nil {
		return "", fmt.Errorf("looking for GPIO chips: %w", err)
	}
	var found []string
	var faults []error
	known := bytes.NewBufferString("there is none")
	for i, p := range paths {
		file, _, label, err := s.look(p)
		if err != nil {
			faults = append(faults, err)
			continue
		}
		file.Close()
		if label == chip {
			found = append(found, p)
		}
		if i == 0 {
			known.Reset()
		} else {
			known.WriteString(", ")
		}
		fmt.Fprintf(known, "%s (%s)", filepath.Base(p), label)
	}
	if len(found) == 1 {
		return found[0], nil
	}
	faults = append([]error{fmt.Errorf("%d GPIO chips are called %q; there are: %s", len(found), chip, known)}, faults...)
	return "", errors.Join(faults...)
}
