// Package fault turns a panic into an error, so that a fault of the program ends no run
// half-way: a panic in a worker would end it with the exit code of a usage error and
// a stack trace, and leave behind what was begun.
package fault

import (
	"fmt"
	"runtime/debug"
)

// Error reports a fault of the program.
type Error struct {
	Value any    // of the panic
	Stack []byte // where it was
}

func (e *Error) Error() string {
	return fmt.Sprintf("a fault of the program: %v\n%s", e.Value, e.Stack)
}

// Guard calls f. If it panics, the error is an [*Error].
func Guard(f func() error) (err error) {
	defer func() {
		if value := recover(); value != nil {
			err = &Error{value, debug.Stack()}
		}
	}()
	return f()
}
