package store

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// copyBeforeMigration keeps the log as it is before its form changes. Nothing is copied
// of the figures file: it can be computed again.
func (d *database) copyBeforeMigration(ctx context.Context, version int64) error {
	if d.kind.what != logKind.what {
		return nil
	}
	name := fmt.Sprintf("%s-version-%d", time.Now().Format("2006-01-02"), version)
	_, err := d.copyTo(ctx, name)
	return err
}

// copyTo writes a copy called name beside the log, in the folder copies, and gives its
// path. A copy of that name is left as it is: it is complete, since copies are written
// under another name first.
func (d *database) copyTo(ctx context.Context, name string) (string, error) {
	dir := copiesDir(d.path)
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return "", fmt.Errorf("make the folder for copies: %w", err)
	}
	path := filepath.Join(dir, strings.TrimSuffix(filepath.Base(d.path), filepath.Ext(d.path))+"-"+name+filepath.Ext(d.path))
	if _, err := os.Stat(path); err == nil {
		return path, nil
	}
	temp := path + ".part"
	defer os.Remove(temp)
	if err := os.Remove(temp); err != nil && !os.IsNotExist(err) {
		return "", fmt.Errorf("copy the log: %w", err)
	}
	if _, err := d.write.ExecContext(ctx, `VACUUM INTO ?`, temp); err != nil {
		return "", fmt.Errorf("copy the log to %s: %w", path, err)
	}
	if err := syncFile(temp); err != nil {
		return "", fmt.Errorf("copy the log to %s: %w", path, err)
	}
	return path, os.Rename(temp, path)
}

// copiesDir is the folder of a log's copies.
func copiesDir(log string) string {
	return strings.TrimSuffix(log, filepath.Ext(log)) + "-copies"
}

func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	err = f.Sync()
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	return err
}
