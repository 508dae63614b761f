// Package evdev makes a button box of USB pedals and button pads: the kernel's
// event devices, /dev/input/event*, found by the name of the device.
//
// It knows event devices, key codes and plugs, and imports only the contract
// of the box and the seam to the kernel. Its choices, and why:
//
//   - Events carry the kernel's time, and a device is told to take it from
//     CLOCK_MONOTONIC; one that can't is not used.
//   - A key that goes down is a press, at once. It repeats itself while it is
//     held, which is none; and what follows an edge of the same key within
//     hardware.Lockout is bounce.
//   - A device is grabbed, so that a pedal does not type elsewhere.
//   - Where the kernel had to drop events the state of the keys is read again:
//     a key that is down then and was not has been pressed.
//   - A device that is unplugged is looked for until it is back, and the box
//     goes on without it; Missing says what can't be pressed meanwhile. A key
//     held while its device is plugged in was not pressed, but a red one was.
package evdev
