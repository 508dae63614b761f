package evdev

import (
	"fmt"

	"evenbell/hardware"
)

// Config says which devices the box is made of. Together their keys must
// stand for every control.
type Config struct {
	Devices []Device
}

// Device is one pedal or pad.
type Device struct {
	Name  string                     // as the kernel gives it; /proc/bus/input/devices lists them
	Keys  map[hardware.Control][]int // the key codes of a control, from linux/input-event-codes.h
	Share bool                       // leave its keys to others too: not grabbed
}

// Check lists what of the config can't be used, by keys such as
// "device.1.tap", the devices counted from 1.
func (c Config) Check() []hardware.Fault {
	var faults []hardware.Fault
	covered, names := map[hardware.Control]bool{}, map[string]bool{}
	for i, d := range c.Devices {
		key := fmt.Sprintf("device.%d", i+1)
		if d.Name == "" {
			faults = append(faults, hardware.Faultf(key+".name", "missing; write the device's name as /proc/bus/input/devices lists it"))
		} else if names[d.Name] {
			faults = append(faults, hardware.Faultf(key+".name", "is %q, which another device has; give all its keys once", d.Name))
		}
		names[d.Name] = true
		faults = append(faults, d.check(key, covered)...)
	}
	for _, control := range hardware.Controls {
		if !covered[control] {
			faults = append(faults, hardware.Faultf("device", "has no key for %s; every box has this control, so give a key code for it on some device", control))
		}
	}
	return faults
}

// check lists the faults of a device's keys, and notes the controls they cover.
func (d Device) check(key string, covered map[hardware.Control]bool) (faults []hardware.Fault) {
	taken := map[int]hardware.Control{}
	for _, control := range hardware.Controls {
		for _, code := range d.Keys[control] {
			at := key + "." + string(control)
			if code < 1 || code > keyMax {
				faults = append(faults, hardware.Faultf(at, "has the key code %d; allowed are 1 to %d", code, keyMax))
			} else if by, ok := taken[code]; ok {
				faults = append(faults, hardware.Faultf(at, "has the key code %d, which %s has too; a key stands for one control", code, by))
			}
			taken[code], covered[control] = control, true
		}
	}
	for control := range d.Keys {
		if _, err := hardware.ParseControl(string(control)); err != nil {
			faults = append(faults, hardware.Faultf(key, "%v", err))
		}
	}
	return faults
}

// named is which device of the config has a name, or -1.
func (c Config) named(name string) int {
	for i, d := range c.Devices {
		if d.Name == name {
			return i
		}
	}
	return -1
}

// controls is what the codes of each device mean.
func (c Config) controls() []map[uint16]hardware.Control {
	var all []map[uint16]hardware.Control
	for _, d := range c.Devices {
		of := map[uint16]hardware.Control{}
		for control, codes := range d.Keys {
			for _, code := range codes {
				of[uint16(code)] = control
			}
		}
		all = append(all, of)
	}
	return all
}
