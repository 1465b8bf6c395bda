/* Stands between a program and the C library's file calls that change a disk, below one folder.

   Loaded by LD_PRELOAD it reaches what Python cannot patch: SQLite, Qt, the writers of zip and xlsx files.
   Unarmed it only passes on.  Armed, from the k-th call on things go wrong in the way the mode says. */

#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum mode { EIO_ONCE, ENOSPC_ONCE, EIO_EVER, ENOSPC_EVER, SHORT, HALF, DIE_BEFORE, DIE_AFTER, DIE_HALF };

static char folder[PATH_MAX];
static long armed_k, calls, hits, synced_again, placed_unsynced;
static int mode;

/* Files whose sync failed: as descriptors until they are closed, as inodes until they are gone. */
static unsigned char failed_descriptor[4096];
static struct { dev_t dev; ino_t ino; } failed_file[256];
static int failed_files;

void shim_arm(const char *below, long k, int how)
{
    snprintf(folder, sizeof folder, "%s", below);
    calls = hits = synced_again = placed_unsynced = failed_files = 0;
    memset(failed_descriptor, 0, sizeof failed_descriptor);
    mode = how;
    armed_k = k;
}

void shim_disarm(void) { armed_k = 0; }
long shim_calls(void) { return calls; }
long shim_hits(void) { return hits; }
long shim_synced_again(void) { return synced_again; }
long shim_placed_unsynced(void) { return placed_unsynced; }

#define REAL(name) ((__typeof__(&name)) dlsym(RTLD_NEXT, #name))

static int is_below(const char *path)
{
    size_t length = strlen(folder);
    return strncmp(path, folder, length) == 0 && (path[length] == '/' || path[length] == 0);
}

static int link_of(int descriptor, char *path)
{
    char name[64];
    snprintf(name, sizeof name, "/proc/self/fd/%d", descriptor);
    ssize_t length = readlink(name, path, PATH_MAX - 1);
    path[length > 0 ? length : 0] = 0;
    return length > 0;
}

static int is_ours(int descriptor)
{
    char path[PATH_MAX];
    return armed_k && link_of(descriptor, path) && is_below(path);
}

static int names_ours(int at, const char *path)
{
    char whole[2 * PATH_MAX], start[PATH_MAX] = "";
    if (!armed_k)
        return 0;
    if (path[0] == '/')
        return is_below(path);
    if (at == AT_FDCWD ? !getcwd(start, sizeof start) : !link_of(at, start))
        return 0;
    snprintf(whole, sizeof whole, "%s/%s", start, path);
    return is_below(whole);
}

/* Counts a call.  0: go on; -1: it fails, errno says how.  In the modes of writing only writes are hit. */
static int strike(int is_write)
{
    calls++;
    int is_ever = mode == EIO_EVER || mode == ENOSPC_EVER;
    if (calls < armed_k || (calls > armed_k && !is_ever))
        return 0;
    if (mode == SHORT || mode == HALF || mode == DIE_HALF) {
        hits += is_write;
        return is_write ? 1 : 0;
    }
    hits++;
    if (mode == DIE_BEFORE)
        raise(SIGKILL);
    if (mode == DIE_AFTER)
        return 2;
    errno = mode == ENOSPC_ONCE || mode == ENOSPC_EVER ? ENOSPC : EIO;
    return -1;
}

#define PASS(call)                                                                                                     \
    do {                                                                                                               \
        int struck = strike(0);                                                                                        \
        if (struck < 0)                                                                                                \
            return -1;                                                                                                 \
        int answer = (call);                                                                                           \
        if (struck == 2)                                                                                               \
            raise(SIGKILL);                                                                                            \
        return answer;                                                                                                 \
    } while (0)

/* ---- opening: only what can change something counts ---- */

static int changes(int flags) { return (flags & O_ACCMODE) != O_RDONLY || flags & (O_CREAT | O_TRUNC); }

#define MODE_OF(flags)                                                                                                 \
    mode_t rights = 0;                                                                                                 \
    if ((flags) & (O_CREAT | O_TMPFILE)) {                                                                             \
        va_list more;                                                                                                  \
        va_start(more, flags);                                                                                         \
        rights = va_arg(more, mode_t);                                                                                 \
        va_end(more);                                                                                                  \
    }

int open(const char *path, int flags, ...)
{
    MODE_OF(flags)
    if (!changes(flags) || !names_ours(AT_FDCWD, path))
        return REAL(open)(path, flags, rights);
    PASS(REAL(open)(path, flags, rights));
}

int open64(const char *path, int flags, ...)
{
    MODE_OF(flags)
    if (!changes(flags) || !names_ours(AT_FDCWD, path))
        return REAL(open64)(path, flags, rights);
    PASS(REAL(open64)(path, flags, rights));
}

int openat(int at, const char *path, int flags, ...)
{
    MODE_OF(flags)
    if (!changes(flags) || !names_ours(at, path))
        return REAL(openat)(at, path, flags, rights);
    PASS(REAL(openat)(at, path, flags, rights));
}

int openat64(int at, const char *path, int flags, ...)
{
    MODE_OF(flags)
    if (!changes(flags) || !names_ours(at, path))
        return REAL(openat64)(at, path, flags, rights);
    PASS(REAL(openat64)(at, path, flags, rights));
}

/* ---- writing ---- */

#define WRITE(full, part)                                                                                              \
    do {                                                                                                               \
        if (!is_ours(descriptor))                                                                                      \
            return full;                                                                                               \
        int struck = strike(1);                                                                                        \
        if (struck < 0)                                                                                                \
            return -1;                                                                                                 \
        if (struck == 1) {                                                                                             \
            size_t some = mode == SHORT ? (count > 0) : count / 2;                                                     \
            ssize_t done = some ? part : 0;                                                                            \
            if (mode == DIE_HALF)                                                                                      \
                raise(SIGKILL);                                                                                        \
            if (mode == SHORT)                                                                                         \
                return done;                                                                                           \
            errno = ENOSPC;                                                                                            \
            return -1;                                                                                                 \
        }                                                                                                              \
        ssize_t answer = full;                                                                                         \
        if (struck == 2)                                                                                               \
            raise(SIGKILL);                                                                                            \
        return answer;                                                                                                 \
    } while (0)

ssize_t write(int descriptor, const void *raw, size_t count)
{
    WRITE(REAL(write)(descriptor, raw, count), REAL(write)(descriptor, raw, some));
}

ssize_t pwrite(int descriptor, const void *raw, size_t count, off_t place)
{
    WRITE(REAL(pwrite)(descriptor, raw, count, place), REAL(pwrite)(descriptor, raw, some, place));
}

ssize_t pwrite64(int descriptor, const void *raw, size_t count, off64_t place)
{
    WRITE(REAL(pwrite64)(descriptor, raw, count, place), REAL(pwrite64)(descriptor, raw, some, place));
}

int ftruncate(int descriptor, off_t length)
{
    if (!is_ours(descriptor))
        return REAL(ftruncate)(descriptor, length);
    PASS(REAL(ftruncate)(descriptor, length));
}

int ftruncate64(int descriptor, off64_t length)
{
    if (!is_ours(descriptor))
        return REAL(ftruncate64)(descriptor, length);
    PASS(REAL(ftruncate64)(descriptor, length));
}

/* ---- syncing: a sync that failed is not to be tried again, and its file not to be put in place ---- */

static void sync_failed(int descriptor)
{
    struct stat found;
    if (fstat(descriptor, &found) || !S_ISREG(found.st_mode) || failed_files >= 256)
        return;
    failed_descriptor[descriptor & 4095] = 1;
    failed_file[failed_files].dev = found.st_dev;
    failed_file[failed_files++].ino = found.st_ino;
}

static int failed_place(const char *path)
{
    struct stat found;
    if (lstat(path, &found))
        return -1;
    for (int i = 0; i < failed_files; i++)
        if (failed_file[i].dev == found.st_dev && failed_file[i].ino == found.st_ino)
            return i;
    return -1;
}

#define SYNC(name)                                                                                                     \
    int name(int descriptor)                                                                                           \
    {                                                                                                                  \
        if (!is_ours(descriptor))                                                                                      \
            return REAL(name)(descriptor);                                                                             \
        synced_again += failed_descriptor[descriptor & 4095];                                                          \
        int struck = strike(0);                                                                                        \
        if (struck < 0) {                                                                                              \
            int code = errno;                                                                                          \
            sync_failed(descriptor);                                                                                   \
            errno = code;                                                                                              \
            return -1;                                                                                                 \
        }                                                                                                              \
        int answer = REAL(name)(descriptor);                                                                           \
        if (struck == 2)                                                                                               \
            raise(SIGKILL);                                                                                            \
        return answer;                                                                                                 \
    }

SYNC(fsync)
SYNC(fdatasync)

int close(int descriptor)
{
    if (armed_k)
        failed_descriptor[descriptor & 4095] = 0;
    return REAL(close)(descriptor);
}

/* ---- names ---- */

int rename(const char *from, const char *to)
{
    if (!names_ours(AT_FDCWD, to))
        return REAL(rename)(from, to);
    placed_unsynced += failed_place(from) >= 0;
    PASS(REAL(rename)(from, to));
}

int renameat(int from_at, const char *from, int to_at, const char *to)
{
    if (!names_ours(to_at, to))
        return REAL(renameat)(from_at, from, to_at, to);
    PASS(REAL(renameat)(from_at, from, to_at, to));
}

int renameat2(int from_at, const char *from, int to_at, const char *to, unsigned int flags)
{
    if (!names_ours(to_at, to))
        return REAL(renameat2)(from_at, from, to_at, to, flags);
    PASS(REAL(renameat2)(from_at, from, to_at, to, flags));
}

int link(const char *from, const char *to)
{
    if (!names_ours(AT_FDCWD, to))
        return REAL(link)(from, to);
    PASS(REAL(link)(from, to));
}

int linkat(int from_at, const char *from, int to_at, const char *to, int flags)
{
    if (!names_ours(to_at, to))
        return REAL(linkat)(from_at, from, to_at, to, flags);
    PASS(REAL(linkat)(from_at, from, to_at, to, flags));
}

int unlink(const char *path)
{
    if (!names_ours(AT_FDCWD, path))
        return REAL(unlink)(path);
    int place = failed_place(path);
    if (place >= 0)
        failed_file[place] = failed_file[--failed_files]; /* the number of the file may be used again */
    PASS(REAL(unlink)(path));
}

int unlinkat(int at, const char *path, int flags)
{
    if (!names_ours(at, path))
        return REAL(unlinkat)(at, path, flags);
    PASS(REAL(unlinkat)(at, path, flags));
}

int rmdir(const char *path)
{
    if (!names_ours(AT_FDCWD, path))
        return REAL(rmdir)(path);
    PASS(REAL(rmdir)(path));
}

int mkdir(const char *path, mode_t rights)
{
    if (!names_ours(AT_FDCWD, path))
        return REAL(mkdir)(path, rights);
    PASS(REAL(mkdir)(path, rights));
}
