/*
 * The far end of a line: owns the master side of a pseudo-terminal and answers functions 3, 16 and 23 of every address.
 *
 *   line_slave BAUD TURNAROUND_US SILENCE_US      BAUD 0: answers at once
 *
 * First line of output: the path of the device node. A pseudo-terminal has no bit rate, so the times of the wire are kept here, as one deadline per
 * transaction: it starts when the request was seen or the line was free, whichever is later, and ends after the time of all bytes of request and
 * reply, 11 bits each, and the turnaround; the reply is written whole at its end. Gaps between characters are not exercised that way.
 *
 * Each line of input is answered by one line of output and begins a new count:
 *   requests seen, frames that were none, requests that began inside the silence behind the last reply,
 *   mean and median time in nanoseconds that the master let pass beyond that silence, and how late replies were written on average.
 *
 * Not a Modbus library on purpose: both masters that are compared meet the same plain slave.
 */
#define _GNU_SOURCE
#include <fcntl.h>
#include <poll.h>
#include <sched.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

enum { MOST_SAMPLES = 1 << 20, REGISTERS = 65536, FIFO_LEVEL = 30 };

static uint16_t registers[REGISTERS];
static int64_t idle[MOST_SAMPLES];
static int64_t requests, invalid, early, idle_sum, idle_count, late_sum;
static int64_t baud, turnaround_ns, silence_ns, line_free_at;
static uint8_t in[512], out[260];
static int held;

static int64_t now(void)
{
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return time.tv_sec * 1000000000LL + time.tv_nsec;
}

static void wait_until(int64_t deadline)
{
    struct timespec until = { deadline / 1000000000LL, deadline % 1000000000LL };
    while (clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &until, NULL) != 0) { }
}

/* MODBUS over Serial Line V1.02, appendix B. */
static uint16_t crc_of(const uint8_t *bytes, int count)
{
    static uint16_t table[256];
    if (table[1] == 0)
        for (int i = 0; i < 256; i++) {
            uint16_t crc = i;
            for (int bit = 0; bit < 8; bit++)
                crc = crc & 1 ? (crc >> 1) ^ 0xA001 : crc >> 1;
            table[i] = crc;
        }
    uint16_t crc = 0xFFFF;
    for (int i = 0; i < count; i++)
        crc = (crc >> 8) ^ table[(crc ^ bytes[i]) & 0xFF];
    return crc;
}

static int word(const uint8_t *at) { return at[0] << 8 | at[1]; }

static int request_length(void)
{
    if (held < 2)
        return 0;
    switch (in[1]) {
    case 3: return 8;
    case 16: return held < 7 ? 0 : 9 + in[6];
    case 23: return held < 11 ? 0 : 13 + in[10];
    default: return -1;
    }
}

static void take(const uint8_t *values, int start, int count)
{
    for (int i = 0; i < count; i++)
        registers[(start + i) & 0xFFFF] = word(values + 2 * i);
}

static int give(int start, int count)
{
    out[2] = 2 * count;
    for (int i = 0; i < count; i++) {
        out[3 + 2 * i] = registers[(start + i) & 0xFFFF] >> 8;
        out[4 + 2 * i] = registers[(start + i) & 0xFFFF] & 0xFF;
    }
    return 3 + 2 * count;
}

/* The reply to the whole and intact request that is held; quantities are trusted, as both masters are known. */
static int answer(void)
{
    int length = 6;
    memcpy(out, in, 6);
    if (in[1] == 16)
        take(in + 7, word(in + 2), word(in + 4));
    if (in[1] == 23)
        take(in + 11, word(in + 6), word(in + 8));
    if (in[1] != 16)
        length = give(word(in + 2), word(in + 4) & 0x7F);
    uint16_t crc = crc_of(out, length);
    out[length] = crc & 0xFF;
    out[length + 1] = crc >> 8;
    return length + 2;
}

static void note_idle(int64_t seen)
{
    if (line_free_at == 0)
        return;
    int64_t beyond = seen - line_free_at - silence_ns;
    early += beyond < 0;
    idle_sum += beyond;
    idle[idle_count++ % MOST_SAMPLES] = beyond;
}

static void serve(int terminal)
{
    ssize_t got = read(terminal, in + held, sizeof in - held);
    if (got <= 0)
        return;
    int64_t seen = now();
    held += got;
    int length = request_length();
    if (length == 0 || (length > 0 && held < length))
        return;
    if (length < 0 || held != length || crc_of(in, length - 2) != (in[length - 2] | in[length - 1] << 8)) {
        invalid++;
        held = 0;
        return;
    }
    note_idle(seen);
    int reply = answer();
    if (baud > 0) {
        int64_t start = seen > line_free_at ? seen : line_free_at;
        int64_t end = start + (length + reply) * 11LL * 1000000000LL / baud + turnaround_ns;
        wait_until(end);
        int64_t at = now();
        late_sum += at - end;
        line_free_at = at;
    }
    requests++;
    held = 0;
    if (write(terminal, out, reply) != reply)
        invalid++;
}

static int by_size(const void *a, const void *b)
{
    int64_t x = *(const int64_t *)a, y = *(const int64_t *)b;
    return (x > y) - (x < y);
}

static void tell(void)
{
    int64_t kept = idle_count < MOST_SAMPLES ? idle_count : MOST_SAMPLES;
    qsort(idle, kept, sizeof idle[0], by_size);
    printf("%lld %lld %lld %.0f %lld %.0f\n", (long long)requests, (long long)invalid, (long long)early,
        idle_count ? (double)idle_sum / idle_count : 0.0, (long long)(kept ? idle[kept / 2] : 0), requests ? (double)late_sum / requests : 0.0);
    fflush(stdout);
    requests = invalid = early = idle_sum = idle_count = late_sum = line_free_at = 0;
}

static int open_terminal(void)
{
    struct termios settings;
    char name[128];
    int terminal = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK);
    if (terminal < 0 || grantpt(terminal) || unlockpt(terminal) || ptsname_r(terminal, name, sizeof name) || tcgetattr(terminal, &settings)) {
        perror("pseudo-terminal");
        exit(1);
    }
    cfmakeraw(&settings);
    tcsetattr(terminal, TCSANOW, &settings);
    /* Kept open, so that a master that goes does not look like a plug that was pulled. */
    if (open(name, O_RDWR | O_NOCTTY) < 0) {
        perror(name);
        exit(1);
    }
    puts(name);
    fflush(stdout);
    return terminal;
}

/* Masters have the first processor, slaves the last: a placement that the kernel changes at will would be measured with what is compared. */
static void pin(void)
{
    cpu_set_t allowed, last;
    CPU_ZERO(&last);
    if (sched_getaffinity(0, sizeof allowed, &allowed))
        return;
    for (int cpu = CPU_SETSIZE - 1; cpu >= 0; cpu--)
        if (CPU_ISSET(cpu, &allowed)) {
            CPU_SET(cpu, &last);
            (void)sched_setaffinity(0, sizeof last, &last);
            return;
        }
}

int main(int count, char **arguments)
{
    if (count != 4) {
        fprintf(stderr, "usage: line_slave BAUD TURNAROUND_US SILENCE_US\n");
        return 2;
    }
    baud = atoll(arguments[1]);
    turnaround_ns = atoll(arguments[2]) * 1000;
    silence_ns = atoll(arguments[3]) * 1000;
    /* It stands for hardware, which does not wait for what else the computer does; where that is not permitted it stays ordinary. */
    struct sched_param level = { .sched_priority = FIFO_LEVEL };
    (void)sched_setscheduler(0, SCHED_FIFO, &level);
    pin();
    int terminal = open_terminal();
    struct pollfd both[2] = { { terminal, POLLIN, 0 }, { STDIN_FILENO, POLLIN, 0 } };
    for (;;) {
        if (poll(both, 2, -1) < 0)
            continue;
        if (both[0].revents)
            serve(terminal);
        if (both[1].revents) {
            char line[64];
            if (read(STDIN_FILENO, line, sizeof line) <= 0)
                return 0;
            tell();
        }
    }
}
