//go:build amd64 || arm64

package powercut

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"syscall"

	"github.com/hanwen/go-fuse/v2/fs"
	"github.com/hanwen/go-fuse/v2/fuse"
)

// Mount mounts the disk at dir, which exists, and gives what takes it down
// again. It needs /dev/fuse and the right to mount.
func Mount(dir string, d *Disk) (unmount func() error, err error) {
	server, err := fs.Mount(dir, &folder{disk: d}, &fs.Options{
		MountOptions: fuse.MountOptions{FsName: "powercut", Name: "powercut", DirectMountStrict: true, MaxWrite: 128 << 10},
	})
	if err != nil {
		return nil, fmt.Errorf("mounting a disk that forgets at %s: %w", dir, err)
	}
	return server.Unmount, nil
}

// folder is the root of a mounted disk.
type folder struct {
	fs.Inode
	disk *Disk
}

// node is a file of a mounted disk.
type node struct {
	fs.Inode
	disk *Disk
	file *file
}

var (
	_ fs.NodeLookuper       = (*folder)(nil)
	_ fs.NodeCreater        = (*folder)(nil)
	_ fs.NodeUnlinker       = (*folder)(nil)
	_ fs.NodeRenamer        = (*folder)(nil)
	_ fs.NodeReaddirer      = (*folder)(nil)
	_ fs.NodeOpendirHandler = (*folder)(nil)
	_ fs.NodeOpener         = (*node)(nil)
	_ fs.NodeGetattrer      = (*node)(nil)
	_ fs.NodeSetattrer      = (*node)(nil)
	_ fs.NodeReader         = (*node)(nil)
	_ fs.NodeWriter         = (*node)(nil)
	_ fs.NodeFsyncer        = (*node)(nil)
)

func (r *folder) child(ctx context.Context, f *file, out *fuse.EntryOut) *fs.Inode {
	n := &node{disk: r.disk, file: f}
	n.attributes(&out.Attr)
	return r.NewInode(ctx, n, fs.StableAttr{Mode: syscall.S_IFREG, Ino: f.inode + 1})
}

func (r *folder) Lookup(ctx context.Context, name string, out *fuse.EntryOut) (*fs.Inode, syscall.Errno) {
	r.disk.mu.Lock()
	f := r.disk.files[name]
	r.disk.mu.Unlock()
	if f == nil {
		return nil, syscall.ENOENT
	}
	return r.child(ctx, f, out), 0
}

func (r *folder) Create(ctx context.Context, name string, _, _ uint32, out *fuse.EntryOut) (*fs.Inode, fs.FileHandle, uint32, syscall.Errno) {
	r.disk.mu.Lock()
	r.disk.inodes++
	f := &file{made: name, inode: r.disk.inodes}
	r.disk.mu.Unlock()
	errno := r.disk.rename(name, func(names map[string]*file) { names[name] = f })
	if errno != 0 {
		return nil, nil, 0, errno
	}
	return r.child(ctx, f, out), nil, 0, 0
}

func (r *folder) Unlink(_ context.Context, name string) syscall.Errno {
	return r.disk.rename(name, func(names map[string]*file) { delete(names, name) })
}

func (r *folder) Rename(_ context.Context, from string, _ fs.InodeEmbedder, to string, flags uint32) syscall.Errno {
	if flags != 0 {
		return syscall.ENOTSUP
	}
	return r.disk.rename(from, func(names map[string]*file) {
		if f, ok := names[from]; ok {
			names[to] = f
			delete(names, from)
		}
	})
}

func (r *folder) entries() []fuse.DirEntry {
	r.disk.mu.Lock()
	defer r.disk.mu.Unlock()
	var out []fuse.DirEntry
	for _, name := range slices.Sorted(maps.Keys(r.disk.files)) {
		out = append(out, fuse.DirEntry{Name: name, Mode: syscall.S_IFREG, Ino: r.disk.files[name].inode + 1})
	}
	return out
}

func (r *folder) Readdir(context.Context) (fs.DirStream, syscall.Errno) {
	return fs.NewListDirStream(r.entries()), 0
}

func (r *folder) OpendirHandle(context.Context, uint32) (fs.FileHandle, uint32, syscall.Errno) {
	return &listing{disk: r.disk, left: r.entries()}, 0, 0
}

// listing is the open folder: what fsync of a folder goes to.
type listing struct {
	disk *Disk
	left []fuse.DirEntry
}

func (l *listing) Readdirent(context.Context) (*fuse.DirEntry, syscall.Errno) {
	if len(l.left) == 0 {
		return nil, 0
	}
	e := l.left[0]
	l.left = l.left[1:]
	return &e, 0
}

func (l *listing) Fsyncdir(context.Context, uint32) syscall.Errno { return l.disk.syncFolder() }

func (n *node) attributes(out *fuse.Attr) {
	n.disk.mu.Lock()
	defer n.disk.mu.Unlock()
	out.Mode, out.Nlink, out.Size = syscall.S_IFREG|0o600, 1, uint64(len(n.file.now))
	out.Blocks, out.Blksize = (out.Size+sector-1)/sector, 4096
}

func (n *node) Open(context.Context, uint32) (fs.FileHandle, uint32, syscall.Errno) { return nil, 0, 0 }

func (n *node) Getattr(_ context.Context, _ fs.FileHandle, out *fuse.AttrOut) syscall.Errno {
	n.attributes(&out.Attr)
	return 0
}

func (n *node) Setattr(_ context.Context, _ fs.FileHandle, in *fuse.SetAttrIn, out *fuse.AttrOut) syscall.Errno {
	if size, ok := in.GetSize(); ok {
		if errno := n.disk.truncate(n.file, int64(size)); errno != 0 {
			return errno
		}
	}
	n.attributes(&out.Attr)
	return 0
}

func (n *node) Read(_ context.Context, _ fs.FileHandle, dest []byte, at int64) (fuse.ReadResult, syscall.Errno) {
	n.disk.mu.Lock()
	defer n.disk.mu.Unlock()
	if n.disk.dead {
		return nil, syscall.EIO
	}
	if at >= int64(len(n.file.now)) {
		return fuse.ReadResultData(nil), 0
	}
	return fuse.ReadResultData(dest[:copy(dest, n.file.now[at:])]), 0
}

func (n *node) Write(_ context.Context, _ fs.FileHandle, data []byte, at int64) (uint32, syscall.Errno) {
	if errno := n.disk.write(n.file, data, at); errno != 0 {
		return 0, errno
	}
	return uint32(len(data)), 0
}

func (n *node) Fsync(context.Context, fs.FileHandle, uint32) syscall.Errno {
	return n.disk.syncFile(n.file)
}
