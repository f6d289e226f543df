/*
 * Serves one small drive on a serial line by libmodbus:  drive_slave TTY ADDRESS cia402|bits|single|awkward
 *
 * Says "ready" on standard output once it listens, and "stopped by silence" when its communication time-out stopped it. Lines on standard input: "input N 0|1" (N from 1), "fault CODE" (0 takes the cause out),
 * "mute 0|1" (hears and does not answer), "where MARK" (says "at MARK COUNTS": where the axis truly stands). Ends when standard input ends, so that it never outlives whoever started it.
 */
#include <errno.h>
#include <math.h>
#include <modbus.h>
#include <sched.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/select.h>
#include <time.h>
#include <unistd.h>

#include "drive.h"

#define TICK_S 0.01
#define READ_HOLDING 0x03
#define READ_INPUT 0x04
#define WRITE_SINGLE 0x06
#define WRITE_MULTIPLE 0x10
#define READ_WRITE 0x17

static double now_s(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

static int word(const uint8_t *request, int at)
{
    return request[at] << 8 | request[at + 1];
}

/* Exception a request gets, 0 for none. RTU frames begin with the address, so the function code is the second byte. */
static int exception_for(const struct drive *drive, const uint8_t *request, int length)
{
    int function = request[1];
    int most = drive->kind->most_registers;
    int count = function == WRITE_SINGLE ? 1 : word(request, 4);

    if (!strchr((const char *)drive->kind->functions, function)) {
        return MODBUS_EXCEPTION_ILLEGAL_FUNCTION;
    }

    if (count < 1 || count > most || (function == WRITE_MULTIPLE && (length != 9 + 2 * count || request[6] != 2 * count))) {
        return MODBUS_EXCEPTION_ILLEGAL_DATA_VALUE;
    }

    if (!drive_allows(drive, word(request, 2), count, function == WRITE_SINGLE || function == WRITE_MULTIPLE)) {
        return MODBUS_EXCEPTION_ILLEGAL_DATA_ADDRESS;
    }

    if ((function == WRITE_SINGLE || function == WRITE_MULTIPLE) && drive->kind->takes && !drive->kind->takes(drive, word(request, 2), count)) {
        return MODBUS_EXCEPTION_SLAVE_OR_SERVER_FAILURE;
    }

    if (function == READ_WRITE) {
        int writes = word(request, 8);
        if (writes < 1 || writes > most || length != 13 + 2 * writes || request[10] != 2 * writes) {
            return MODBUS_EXCEPTION_ILLEGAL_DATA_VALUE;
        }

        return drive_allows(drive, word(request, 6), writes, true) ? 0 : MODBUS_EXCEPTION_ILLEGAL_DATA_ADDRESS;
    }

    return 0;
}

static bool is_write(int function)
{
    return function != READ_HOLDING && function != READ_INPUT;
}

static bool is_busy(const struct drive *drive)
{
    static int requests;

    return drive->kind->busy_every > 0 && ++requests % drive->kind->busy_every == 0;
}

/* Tells once when the drive's own time-out stopped it. */
static void tell_silence(const struct drive *drive)
{
    static bool told;

    if (drive->error == DRIVE_ERROR_SILENCE && !told) {
        puts("stopped by silence");
        fflush(stdout);
    }

    told = drive->error == DRIVE_ERROR_SILENCE;
}

static bool mute;

/* False when the line is gone. */
static bool serve(modbus_t *context, modbus_mapping_t *mapping, struct drive *drive, double started_s)
{
    uint8_t request[MODBUS_RTU_MAX_ADU_LENGTH];
    int length = modbus_receive(context, request);

    if (length < 0) {
        fprintf(stderr, "not received: %s\n", modbus_strerror(errno));
        return errno != EIO && errno != ECONNRESET && errno != EBADF;
    }

    if (length == 0 || mute) {
        return true; /* another address, or told to be silent */
    }

    drive_advance_to(drive, now_s() - started_s);
    if (is_write(request[1]) || !drive->kind->fed_by_writes) {
        drive->silent_s = 0;
    }

    drive->kind->publish(drive);
    /* The same registers, whichever function reads them. */
    memcpy(mapping->tab_input_registers, mapping->tab_registers, DRIVE_REGISTERS * sizeof(uint16_t));
    int exception = is_busy(drive) ? MODBUS_EXCEPTION_SLAVE_OR_SERVER_BUSY : exception_for(drive, request, length);
    if (exception != 0) {
        return modbus_reply_exception(context, request, (unsigned)exception) >= 0 || errno != EIO;
    }

    bool sent = modbus_reply(context, request, length, mapping) >= 0 || errno != EIO;
    if (is_write(request[1])) {
        drive->kind->command(drive);
    }

    return sent;
}

static void obey_line(struct drive *drive, const char *line)
{
    int number;
    unsigned value;

    if (sscanf(line, "input %d %u", &number, &value) == 2 && number >= 1 && number <= 16) {
        uint16_t bit = (uint16_t)(1u << (number - 1));
        drive->inputs = value ? drive->inputs | bit : drive->inputs & (uint16_t)~bit;
    } else if (sscanf(line, "fault %i", &number) == 1) {
        drive->cause_present = number != 0;
        drive->error = number != 0 ? (uint16_t)number : drive->error;
    } else if (sscanf(line, "mute %u", &value) == 1) {
        mute = value != 0;
    } else if (sscanf(line, "where %d", &number) == 1) {
        printf("at %d %ld\n", number, lround(drive->servo.position));
        fflush(stdout);
    } else {
        fprintf(stderr, "not understood: %s", line);
    }
}

static int run(modbus_t *context, modbus_mapping_t *mapping, struct drive *drive)
{
    double started_s = now_s();
    int line_descriptor = modbus_get_socket(context);

    double awake_s = started_s;

    for (;;) {
        struct timeval tick = { 0, (long)(TICK_S * 1e6) };
        fd_set ready;
        FD_ZERO(&ready);
        FD_SET(STDIN_FILENO, &ready);
        FD_SET(line_descriptor, &ready);
        if (select(line_descriptor + 1, &ready, NULL, NULL, &tick) < 0) {
            if (errno == EINTR) {
                continue;
            }

            return 1;
        }

        /* A drive does not sleep: what this program was kept from hearing must not look like a silent master. */
        double asleep_s = now_s() - awake_s;
        drive->silent_s -= asleep_s > 2 * TICK_S ? asleep_s : 0;
        awake_s += asleep_s;
        drive_advance_to(drive, now_s() - started_s);
        tell_silence(drive);
        if (FD_ISSET(STDIN_FILENO, &ready)) {
            char line[128];
            if (!fgets(line, sizeof line, stdin)) {
                return 0;
            }

            obey_line(drive, line);
        }

        if (FD_ISSET(line_descriptor, &ready) && !serve(context, mapping, drive, started_s)) {
            return 0;
        }
    }
}

static const struct drive_kind *find_kind(const char *name)
{
    static const struct drive_kind *const kinds[] = { &cia402_kind, &bits_kind, &single_kind, &awkward_kind };

    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        if (strcmp(kinds[i]->name, name) == 0) {
            return kinds[i];
        }
    }

    return NULL;
}

int main(int argc, char **argv)
{
    const struct drive_kind *kind = argc == 4 ? find_kind(argv[3]) : NULL;
    if (!kind) {
        fprintf(stderr, "usage: drive_slave TTY ADDRESS cia402|bits|single|awkward\n");
        return 2;
    }

    /* A drive waits for nothing else that this computer does; where that is not permitted it stays ordinary. */
    struct sched_param priority = { .sched_priority = 30 };
    sched_setscheduler(0, SCHED_FIFO, &priority);

    /* select and stdio's buffer do not know of each other. */
    setvbuf(stdin, NULL, _IONBF, 0);
    modbus_t *context = modbus_new_rtu(argv[1], 115200, 'N', 8, 1);
    modbus_mapping_t *mapping = modbus_mapping_new(0, 0, DRIVE_REGISTERS, DRIVE_REGISTERS);
    if (!context || !mapping || modbus_set_slave(context, atoi(argv[2])) != 0 || modbus_connect(context) != 0) {
        fprintf(stderr, "%s: %s\n", argv[1], modbus_strerror(errno));
        return 1;
    }

    struct drive drive;
    drive_start(&drive, kind, mapping->tab_registers);
    puts("ready");
    fflush(stdout);
    int code = run(context, mapping, &drive);
    modbus_close(context);
    modbus_free(context);
    modbus_mapping_free(mapping);
    return code;
}
