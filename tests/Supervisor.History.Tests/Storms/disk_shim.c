/*
 * Loaded before the C library, it stands between a process and the files of one folder: it logs every write, sync, change of size, creation and
 * removal in their order, and makes them fail as asked for.
 *
 *   DISK_SHIM_FOLDER    the folder; everything else passes untouched
 *   DISK_SHIM_LOG       file that takes the log; without it nothing is logged
 *   DISK_SHIM_TROUBLE   file of one byte, looked at before each operation: '0' none, 'F' no space left (ENOSPC) for what grows or is written, 'E' input/output
 *                       errors (EIO) of writes, 'S' input/output errors of syncs, 'R' read-only file system (EROFS)
 *   DISK_SHIM_SPARED    name of a file that meets no trouble
 *   DISK_SHIM_UNSYNCED  end of names whose syncs are left out, neither done nor logged: a bug planted
 *
 * An entry of the log: kind (1 byte), file (4), offset or size (8), length (4), then so many bytes; numbers little-endian.
 *   'O' a file was opened that is new in the folder (data: its name), 'A' one that was there, 'W' bytes written, 'T' size set, 'S' synced,
 *   'X' a sync failed, 'D' the folder synced, 'U' removed (data: its name), 'R' renamed (data: both names, each ended by 0)
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

enum { FILES = 4096, NOT_OURS = 0, FOLDER = -1 };

static pthread_mutex_t gate = PTHREAD_MUTEX_INITIALIZER;
static char folder[4096];
static const char *unsynced, *spared;
static volatile const char *trouble = "0";
static int log_fd = -1;
static int32_t file_of[FILES];
static char is_unsynced[FILES], is_spared[FILES];
static int32_t last_file;

__attribute__((constructor)) static void begin(void)
{
    const char *path = getenv("DISK_SHIM_FOLDER"), *log = getenv("DISK_SHIM_LOG"), *switches = getenv("DISK_SHIM_TROUBLE");
    snprintf(folder, sizeof folder, "%s", path ? path : "");
    unsynced = getenv("DISK_SHIM_UNSYNCED");
    spared = getenv("DISK_SHIM_SPARED");
    if (log)
        log_fd = (int)syscall(SYS_openat, AT_FDCWD, log, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
    if (switches) {
        int fd = (int)syscall(SYS_openat, AT_FDCWD, switches, O_RDONLY | O_CLOEXEC, 0);
        void *seen = fd >= 0 ? mmap(NULL, 1, PROT_READ, MAP_SHARED, fd, 0) : MAP_FAILED;
        if (seen != MAP_FAILED)
            trouble = seen;
    }
}

/* The name within the folder; NULL when it is elsewhere. */
static const char *name_of(const char *path)
{
    size_t length = strlen(folder);
    return path && length && !strncmp(path, folder, length) && path[length] == '/' && !strchr(path + length + 1, '/') ? path + length + 1 : NULL;
}

static int32_t ours(int fd)
{
    return fd >= 0 && fd < FILES ? file_of[fd] : NOT_OURS;
}

static void note(char kind, int32_t file, int64_t at, const void *data, uint32_t length)
{
    unsigned char head[17];
    if (log_fd < 0)
        return;
    head[0] = (unsigned char)kind;
    memcpy(head + 1, &file, 4);
    memcpy(head + 5, &at, 8);
    memcpy(head + 13, &length, 4);
    if (syscall(SYS_write, log_fd, head, sizeof head) != sizeof head || (length && syscall(SYS_write, log_fd, data, length) != (long)length))
        abort();
}

/* The error that an operation meets now; 0 for none. */
static int error_of(int is_sync, int grows)
{
    switch (*trouble) {
    case 'F': return is_sync || !grows ? 0 : ENOSPC;
    case 'E': return is_sync ? 0 : EIO;
    case 'S': return is_sync ? EIO : 0;
    case 'R': return is_sync ? 0 : EROFS;
    default: return 0;
    }
}

static int fails(int is_sync, int grows)
{
    int error = error_of(is_sync, grows);
    if (error)
        errno = error;
    return error != 0;
}

static int open_as(int at, const char *path, int flags, mode_t mode)
{
    const char *name = name_of(path);
    struct stat before;
    if (!name && !(path && !strcmp(path, folder))) {
        int other = (int)syscall(SYS_openat, at, path, flags, mode);
        if (other >= 0 && other < FILES)
            file_of[other] = NOT_OURS;
        return other;
    }
    pthread_mutex_lock(&gate);
    int writes = (flags & O_ACCMODE) != O_RDONLY;
    int is_new = name && (flags & O_CREAT) && stat(path, &before) != 0;
    int fd = -1;
    int is_safe = name && spared && !strcmp(name, spared);
    if (!(name && !is_safe && ((is_new && fails(0, 1)) || (writes && *trouble == 'R' && fails(0, 0)))))
        fd = (int)syscall(SYS_openat, at, path, flags, mode);
    if (fd >= 0 && fd < FILES) {
        file_of[fd] = name ? ++last_file : FOLDER;
        is_unsynced[fd] = 0;
        is_spared[fd] = (char)is_safe;
        if (name) {
            size_t length = strlen(name), end = unsynced ? strlen(unsynced) : 0;
            is_unsynced[fd] = end && length >= end && !strcmp(name + length - end, unsynced);
            note(is_new ? 'O' : 'A', file_of[fd], 0, name, (uint32_t)length);
            if (flags & O_TRUNC)
                note('T', file_of[fd], 0, NULL, 0);
        }
    }
    int error = errno;
    pthread_mutex_unlock(&gate);
    errno = error;
    return fd;
}

#define WITH_MODE(flags)                            \
    mode_t mode = 0;                                \
    if ((flags) & (O_CREAT | __O_TMPFILE)) {        \
        va_list more;                               \
        va_start(more, flags);                      \
        mode = (mode_t)va_arg(more, int);           \
        va_end(more);                               \
    }

int open(const char *path, int flags, ...) { WITH_MODE(flags) return open_as(AT_FDCWD, path, flags, mode); }
int open64(const char *path, int flags, ...) { WITH_MODE(flags) return open_as(AT_FDCWD, path, flags | O_LARGEFILE, mode); }
int openat(int at, const char *path, int flags, ...) { WITH_MODE(flags) return open_as(at, path, flags, mode); }
int openat64(int at, const char *path, int flags, ...) { WITH_MODE(flags) return open_as(at, path, flags | O_LARGEFILE, mode); }

int close(int fd)
{
    if (fd >= 0 && fd < FILES)
        file_of[fd] = NOT_OURS;
    return (int)syscall(SYS_close, fd);
}

static ssize_t write_at(int fd, const void *data, size_t length, off_t at, int has_place)
{
    if (!ours(fd))
        return has_place ? syscall(SYS_pwrite64, fd, data, length, at) : syscall(SYS_write, fd, data, length);
    pthread_mutex_lock(&gate);
    ssize_t written = -1;
    if (is_spared[fd] || !fails(0, 1)) {
        struct stat state;
        if (!has_place)
            at = fcntl(fd, F_GETFL) & O_APPEND ? (fstat(fd, &state), state.st_size) : lseek(fd, 0, SEEK_CUR);
        written = has_place ? syscall(SYS_pwrite64, fd, data, length, at) : syscall(SYS_write, fd, data, length);
        if (written > 0)
            note('W', ours(fd), at, data, (uint32_t)written);
    }
    int error = errno;
    pthread_mutex_unlock(&gate);
    errno = error;
    return written;
}

ssize_t pwrite(int fd, const void *data, size_t length, off_t at) { return write_at(fd, data, length, at, 1); }
ssize_t pwrite64(int fd, const void *data, size_t length, off64_t at) { return write_at(fd, data, length, at, 1); }
ssize_t write(int fd, const void *data, size_t length) { return write_at(fd, data, length, 0, 0); }

static int sync_as(int fd, long number)
{
    int32_t file = ours(fd);
    if (file == NOT_OURS)
        return (int)syscall(number, fd);
    pthread_mutex_lock(&gate);
    int result = 0;
    if (!is_unsynced[fd]) {
        /* What the log says is what counts: the disk that lies below is not cut off. */
        result = file != FOLDER && fails(1, 0) ? -1 : 0;
        note(result ? 'X' : file == FOLDER ? 'D' : 'S', file, 0, NULL, 0);
    }
    int error = errno;
    pthread_mutex_unlock(&gate);
    errno = error;
    return result;
}

int fsync(int fd) { return sync_as(fd, SYS_fsync); }
int fdatasync(int fd) { return sync_as(fd, SYS_fdatasync); }

static int size_as(int fd, off_t size)
{
    if (!ours(fd))
        return (int)syscall(SYS_ftruncate, fd, size);
    pthread_mutex_lock(&gate);
    struct stat state;
    int result = -1;
    if (fstat(fd, &state) == 0 && !fails(0, size > state.st_size)) {
        result = (int)syscall(SYS_ftruncate, fd, size);
        if (!result)
            note('T', ours(fd), size, NULL, 0);
    }
    int error = errno;
    pthread_mutex_unlock(&gate);
    errno = error;
    return result;
}

int ftruncate(int fd, off_t size) { return size_as(fd, size); }
int ftruncate64(int fd, off64_t size) { return size_as(fd, size); }

int unlink(const char *path)
{
    const char *name = name_of(path);
    if (!name)
        return (int)syscall(SYS_unlinkat, AT_FDCWD, path, 0);
    pthread_mutex_lock(&gate);
    int result = *trouble == 'R' ? (errno = EROFS, -1) : (int)syscall(SYS_unlinkat, AT_FDCWD, path, 0);
    if (!result)
        note('U', 0, 0, name, (uint32_t)strlen(name));
    int error = errno;
    pthread_mutex_unlock(&gate);
    errno = error;
    return result;
}

int rename(const char *from, const char *to)
{
    const char *old_name = name_of(from), *new_name = name_of(to);
    if (!old_name || !new_name)
        return (int)syscall(SYS_renameat, AT_FDCWD, from, AT_FDCWD, to);
    pthread_mutex_lock(&gate);
    int result = *trouble == 'R' ? (errno = EROFS, -1) : (int)syscall(SYS_renameat, AT_FDCWD, from, AT_FDCWD, to);
    if (!result) {
        char both[8192];
        int length = snprintf(both, sizeof both, "%s%c%s", old_name, 0, new_name) + 1;
        note('R', 0, 0, both, (uint32_t)length);
    }
    int error = errno;
    pthread_mutex_unlock(&gate);
    errno = error;
    return result;
}
