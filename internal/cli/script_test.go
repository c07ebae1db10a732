package cli_test

import (
	"errors"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"spanseal/internal/cli"
)

var (
	update = flag.Bool("update", false, "refresh the expectations of the scripts")
	long   = flag.Bool("long", false, "also run what takes minutes: two hundred kills, every hostile file")
)

// now is the clock of every test: the office, a week after the measurements.
func now() time.Time { return time.Date(2026, time.November, 25, 16, 0, 0, 0, time.UTC) }

// TestMain lets the scripts run the program inside this test's own binary.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"spanseal": func() {
			sys := cli.OS()
			sys.Program, sys.Now, sys.KeyRounds = "spanseal", now, 1
			if t, err := time.Parse(time.RFC3339, os.Getenv("CLOCK")); err == nil { // a script may have its own
				sys.Now = func() time.Time { return t }
			}
			code := cli.Main(sys)
			if at := os.Getenv("STATUS"); at != "" { // a test asks for the memory that was used
				status, _ := os.ReadFile("/proc/self/status")
				_ = os.WriteFile(at, status, 0o644)
			}
			os.Exit(code)
		},
	})
}

// TestScripts runs the program as a person would, script by script.
func TestScripts(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	testscript.Run(t, testscript.Params{
		Dir:           "../../testdata/script",
		UpdateScripts: *update,
		Setup: func(e *testscript.Env) error {
			e.Setenv("SPANSEAL_PASSPHRASE", "low water at noon")
			demo, err := filepath.Abs("../../templates/demo") // its pictures
			if err != nil {
				return err
			}
			e.Setenv("DEMO", demo)
			// Every script starts with a small job that conforms.
			return os.CopyFS(filepath.Join(e.WorkDir, "cabinet"), os.DirFS("../../testdata/script/cabinet"))
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"exits": exits,
			"flip":  flip,
		},
	})
}

// exits CODE PROGRAM ARG ... runs a program that must end with the exit code.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE PROGRAM ARG ...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		var exit *exec.ExitError
		if !errors.As(err, &exit) {
			ts.Fatalf("%v", err)
		}
		got = exit.ExitCode()
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}

// flip FILE OFFSET changes one bit; a negative offset counts from the end.
func flip(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: flip FILE OFFSET")
	}
	path := ts.MkAbs(args[0])
	data, err := os.ReadFile(path)
	ts.Check(err)
	at, err := strconv.Atoi(args[1])
	ts.Check(err)
	if at < 0 {
		at += len(data)
	}
	data[at] ^= 1
	ts.Check(os.WriteFile(path, data, 0o644))
}
