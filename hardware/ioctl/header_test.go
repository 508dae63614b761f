package ioctl_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"unsafe"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// program prints sizes, places and numbers as a C compiler makes them of the
// kernel's own headers.
const program = `
#include <stddef.h>
#include <stdio.h>
#include <linux/gpio.h>
#include <linux/input.h>
#define S(x) printf(#x " %zu\n", sizeof(struct x))
#define O(x, y) printf(#x "." #y " %zu\n", offsetof(struct x, y))
#define N(x) printf(#x " %llu\n", (unsigned long long)(x))
int main(void) {
	S(gpiochip_info); O(gpiochip_info, label); O(gpiochip_info, lines);
	S(gpio_v2_line_values); O(gpio_v2_line_values, mask);
	S(gpio_v2_line_config); O(gpio_v2_line_config, num_attrs); O(gpio_v2_line_config, attrs);
	S(gpio_v2_line_config_attribute); O(gpio_v2_line_config_attribute, mask);
	S(gpio_v2_line_request); O(gpio_v2_line_request, consumer); O(gpio_v2_line_request, config);
	O(gpio_v2_line_request, num_lines); O(gpio_v2_line_request, event_buffer_size); O(gpio_v2_line_request, fd);
	S(gpio_v2_line_event); O(gpio_v2_line_event, id); O(gpio_v2_line_event, offset);
	N(GPIO_GET_CHIPINFO_IOCTL); N(GPIO_V2_GET_LINE_IOCTL);
	N(GPIO_V2_LINE_GET_VALUES_IOCTL); N(GPIO_V2_LINE_SET_VALUES_IOCTL);
	N(GPIO_V2_LINE_FLAG_INPUT); N(GPIO_V2_LINE_FLAG_OUTPUT);
	N(GPIO_V2_LINE_FLAG_EDGE_RISING); N(GPIO_V2_LINE_FLAG_EDGE_FALLING);
	N(GPIO_V2_LINE_FLAG_BIAS_PULL_UP); N(GPIO_V2_LINE_FLAG_BIAS_PULL_DOWN); N(GPIO_V2_LINE_FLAG_BIAS_DISABLED);
	S(input_event); N(KEY_MAX); N(EV_KEY); N(SYN_REPORT); N(SYN_DROPPED);
	N(EVIOCGNAME(256)); N(EVIOCGKEY(96)); N(EVIOCGBIT(EV_KEY, 96)); N(EVIOCGRAB); N(EVIOCSCLOCKID);
}`

func TestWhatTheKernelsHeadersSay(t *testing.T) {
	cc, err := exec.LookPath("cc")
	if err == nil && runtime.GOOS == "linux" {
		_, err = os.Stat("/usr/include/linux/gpio.h")
	}
	if err != nil {
		if os.Getenv("EVENBELL_PEERS") == "required" {
			t.Fatal(err)
		}
		t.Skip("no C compiler with the kernel's headers: " + err.Error())
	}
	dir := t.TempDir()
	source, binary := filepath.Join(dir, "a.c"), filepath.Join(dir, "a")
	require.NoError(t, os.WriteFile(source, []byte(program), 0o600))
	out, err := exec.Command(cc, "-o", binary, source).CombinedOutput()
	require.NoError(t, err, string(out))
	out, err = exec.Command(binary).Output()
	require.NoError(t, err)
	assert.Equal(t, strings.TrimSpace(ours()), strings.TrimSpace(string(out)))
}

// ours is what the boxes take these to be; their own numbers are written out.
func ours() string {
	var (
		b    strings.Builder
		info unix.GPIOChipInfo
		vals unix.GPIOV2LineValues
		conf unix.GPIOV2LineConfig
		attr unix.GPIOV2LineConfigAttribute
		req  unix.GPIOV2LineRequest
		ev   unix.GPIOV2LineEvent
	)
	say := func(name string, n uintptr) { fmt.Fprintf(&b, "%s %d\n", name, n) }
	say("gpiochip_info", unsafe.Sizeof(info))
	say("gpiochip_info.label", unsafe.Offsetof(info.Label))
	say("gpiochip_info.lines", unsafe.Offsetof(info.Lines))
	say("gpio_v2_line_values", unsafe.Sizeof(vals))
	say("gpio_v2_line_values.mask", unsafe.Offsetof(vals.Mask))
	say("gpio_v2_line_config", unsafe.Sizeof(conf))
	say("gpio_v2_line_config.num_attrs", unsafe.Offsetof(conf.Num_attrs))
	say("gpio_v2_line_config.attrs", unsafe.Offsetof(conf.Attrs))
	say("gpio_v2_line_config_attribute", unsafe.Sizeof(attr))
	say("gpio_v2_line_config_attribute.mask", unsafe.Offsetof(attr.Mask))
	say("gpio_v2_line_request", unsafe.Sizeof(req))
	say("gpio_v2_line_request.consumer", unsafe.Offsetof(req.Consumer))
	say("gpio_v2_line_request.config", unsafe.Offsetof(req.Config))
	say("gpio_v2_line_request.num_lines", unsafe.Offsetof(req.Num_lines))
	say("gpio_v2_line_request.event_buffer_size", unsafe.Offsetof(req.Event_buffer_size))
	say("gpio_v2_line_request.fd", unsafe.Offsetof(req.Fd))
	say("gpio_v2_line_event", unsafe.Sizeof(ev))
	say("gpio_v2_line_event.id", unsafe.Offsetof(ev.Id))
	say("gpio_v2_line_event.offset", unsafe.Offsetof(ev.Offset))
	say("GPIO_GET_CHIPINFO_IOCTL", unix.GPIO_GET_CHIPINFO_IOCTL)
	say("GPIO_V2_GET_LINE_IOCTL", unix.GPIO_V2_GET_LINE_IOCTL)
	say("GPIO_V2_LINE_GET_VALUES_IOCTL", unix.GPIO_V2_LINE_GET_VALUES_IOCTL)
	say("GPIO_V2_LINE_SET_VALUES_IOCTL", unix.GPIO_V2_LINE_SET_VALUES_IOCTL)
	// The flags of package gpio.
	for _, f := range []struct {
		name string
		bit  uint
	}{{"INPUT", 2}, {"OUTPUT", 3}, {"EDGE_RISING", 4}, {"EDGE_FALLING", 5},
		{"BIAS_PULL_UP", 8}, {"BIAS_PULL_DOWN", 9}, {"BIAS_DISABLED", 10}} {
		say("GPIO_V2_LINE_FLAG_"+f.name, 1<<f.bit)
	}
	// The requests of package evdev, whose tests answer to the same numbers.
	say("input_event", 2*unsafe.Sizeof(uintptr(0))+8)
	say("KEY_MAX", 0x2ff)
	say("EV_KEY", 1)
	say("SYN_REPORT", 0)
	say("SYN_DROPPED", 3)
	say("EVIOCGNAME(256)", 0x81004506)
	say("EVIOCGKEY(96)", 0x80604518)
	say("EVIOCGBIT(EV_KEY, 96)", 0x80604521)
	say("EVIOCGRAB", 0x40044590)
	say("EVIOCSCLOCKID", 0x400445a0)
	return b.String()
}
