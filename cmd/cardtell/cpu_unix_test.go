//go:build unix

package main

import (
	"syscall"
	"time"
)

// cpuTime is the time that this program has computed for, on all processors: the clock is of little use on a machine
// that does other things as well.
func cpuTime() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
