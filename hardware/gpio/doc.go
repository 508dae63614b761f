// Package gpio makes a button box and its lamps of the pins of a small
// computer: switches and on/off lamps at lines of the kernel's GPIO character
// device (its second version, Linux 5.10 and later), dimmed lamps at its PWM
// channels in sysfs.
//
// It knows lines, channels and the kernel's requests; what a press or a light
// means, and how contacts bounce, are the affair of package hardware, which is
// all of ours that it imports. Its choices, and why:
//
//   - Edges carry the time of the kernel's interrupt, on CLOCK_MONOTONIC, and
//     wait in the kernel's queue with it; a busy program hears of a press late
//     but is never wrong about when it was.
//   - The kernel's own debouncing is not asked for: it reports an edge only
//     once the level has been steady for the period, and a red button can't
//     wait for that. The first edge acts, and what follows is bounce.
//   - Each line is a request of its own, so that one that fails names itself.
//   - A line whose chip goes away ends the box with an error; nothing is read
//     into the level of a line that can't be read.
//   - A chip that has no pulls of its own ignores the wish for one without a
//     word, so wire a resistor to what must never float, the red button first.
package gpio
