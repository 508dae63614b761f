package gpio

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"periph.io/x/conn/v3/gpio"
	"periph.io/x/conn/v3/physic"
)

// PWM is one channel of a PWM chip in sysfs, as a periph pin. One goroutine
// uses it.
//
// It stays exported and running when it is halted: a channel that is given
// back may leave its pin at either level, while one that runs keeps its lamp
// dark. (Documentation/ABI/testing/sysfs-class-pwm and driver-api/pwm.rst of
// the kernel say what its files are.)
type PWM struct {
	dir    string
	name   string
	number int
	period time.Duration // 0 until it is set
	duty   *os.File
}

// patience is how long a channel's files may take to become ours to write once
// it is exported: the rules of the device manager run after the kernel.
const patience = 2 * time.Second

// channel exports a channel, unless that is done, and opens it.
func (s system) channel(chip string, number int) (*PWM, error) {
	folder := filepath.Join(s.pwm, chip)
	p := &PWM{name: fmt.Sprintf("%s channel %d", chip, number), number: number,
		dir: filepath.Join(folder, "pwm"+strconv.Itoa(number))}
	count, err := os.ReadFile(filepath.Join(folder, "npwm"))
	if err != nil {
		return nil, fmt.Errorf("opening PWM chip %s: %w", chip, err)
	}
	if n, err := strconv.Atoi(strings.TrimSpace(string(count))); err == nil && number >= n {
		return nil, fmt.Errorf("%s has no channel %d; it has 0 to %d", chip, number, n-1)
	}
	if _, err := os.Stat(p.dir); err != nil {
		if err := write(filepath.Join(folder, "export"), int64(number)); err != nil {
			return nil, fmt.Errorf("exporting %s: %w", p.name, err)
		}
	}
	for end := time.Now().Add(patience); ; time.Sleep(patience / 100) {
		p.duty, err = os.OpenFile(filepath.Join(p.dir, "duty_cycle"), os.O_RDWR, 0)
		if err == nil {
			return p, nil
		}
		if !(errors.Is(err, os.ErrPermission) || errors.Is(err, os.ErrNotExist)) || time.Now().After(end) {
			return nil, fmt.Errorf("opening %s: %w", p.name, err)
		}
	}
}

// write writes a number to a file of sysfs.
func write(path string, n int64) error {
	file, err := os.OpenFile(path, os.O_WRONLY|os.O_TRUNC, 0)
	if err != nil {
		return err
	}
	_, err = file.WriteString(strconv.FormatInt(n, 10) + "\n")
	return errors.Join(err, file.Close())
}

// PWM sets the share of time for which the pin is high, and how often in a
// second.
func (p *PWM) PWM(duty gpio.Duty, f physic.Frequency) error {
	if !duty.Valid() || f <= 0 {
		return fmt.Errorf("%s can't pulse with %v at %v", p.name, duty, f)
	}
	if err := p.begin(f.Period()); err != nil {
		return err
	}
	return p.set(p.period.Nanoseconds() * int64(duty) / int64(gpio.DutyMax))
}

// begin makes the channel run with a period.
func (p *PWM) begin(period time.Duration) error {
	if p.period == period {
		return nil
	}
	path := filepath.Join(p.dir, "period")
	err := write(path, period.Nanoseconds())
	if err != nil && p.set(0) == nil { // it may have been below the duty of whoever was here before
		err = write(path, period.Nanoseconds())
	}
	if err == nil {
		err = write(filepath.Join(p.dir, "enable"), 1)
	}
	if err != nil {
		return fmt.Errorf("starting %s: %w", p.name, err)
	}
	p.period = period
	return nil
}

func (p *PWM) set(ns int64) error {
	if _, err := p.duty.WriteAt(append(strconv.AppendInt(nil, ns, 10), '\n'), 0); err != nil {
		return fmt.Errorf("setting %s: %w", p.name, err)
	}
	return nil
}

// Out makes the pin steady.
func (p *PWM) Out(l gpio.Level) error {
	duty := gpio.Duty(0)
	if l {
		duty = gpio.DutyMax
	}
	return p.PWM(duty, physic.KiloHertz)
}

// Halt closes the channel's files, and leaves the pin as it is.
func (p *PWM) Halt() error { return p.duty.Close() }

// Name is the chip and the channel: "pwmchip0 channel 1".
func (p *PWM) Name() string { return p.name }

// String is the name.
func (p *PWM) String() string { return p.name }

// Number is the channel on its chip.
func (p *PWM) Number() int { return p.number }

// Function is "PWM".
func (p *PWM) Function() string { return "PWM" }
