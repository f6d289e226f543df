/*
 * A master on libmodbus that asks one slave again and again: what ours is compared with.
 *
 *   libmodbus_master DEVICE
 *
 * Each line of input "FUNCTION COUNT SILENCE_US": opens the device, asks COUNT times, waiting SILENCE_US behind each reply (the library itself keeps no
 * silence between frames), closes it, and answers with one line: seconds, seconds of processor time (getrusage, the whole process), failures.
 * Function 23 writes 8 registers and reads 8, function 3 reads 8. The next request follows as soon as the reply was read.
 */
#define _GNU_SOURCE
#include <modbus.h>
#include <sched.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <time.h>

enum { WORDS = 8, WRITTEN_FROM = 64, FIFO_LEVEL = 30, PATIENCE_S = 10 };

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

static double used(void)
{
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    return usage.ru_utime.tv_sec + usage.ru_stime.tv_sec + (usage.ru_utime.tv_usec + usage.ru_stime.tv_usec) / 1e6;
}

static int ask(modbus_t *bus, int function, const uint16_t *written, uint16_t *read)
{
    return function == 23
        ? modbus_write_and_read_registers(bus, WRITTEN_FROM, WORDS, written, 0, WORDS, read)
        : modbus_read_registers(bus, 0, WORDS, read);
}

/* Masters have the first processor, slaves the last: a placement that the kernel changes at will would be measured with what is compared. */
static void pin(void)
{
    cpu_set_t allowed, first;
    CPU_ZERO(&first);
    if (sched_getaffinity(0, sizeof allowed, &allowed))
        return;
    for (int cpu = 0; cpu < CPU_SETSIZE; cpu++)
        if (CPU_ISSET(cpu, &allowed)) {
            CPU_SET(cpu, &first);
            (void)sched_setaffinity(0, sizeof first, &first);
            return;
        }
}

int main(int count, char **arguments)
{
    int function, exchanges, silence_us;
    if (count != 2) {
        fprintf(stderr, "usage: libmodbus_master DEVICE\n");
        return 2;
    }
    /* As a port's thread has it; where that is not permitted both stay ordinary. */
    struct sched_param level = { .sched_priority = FIFO_LEVEL };
    (void)sched_setscheduler(0, SCHED_FIFO, &level);
    pin();
    while (scanf("%d %d %d", &function, &exchanges, &silence_us) == 3) {
        modbus_t *bus = modbus_new_rtu(arguments[1], 115200, 'N', 8, 2);
        if (bus == NULL || modbus_set_slave(bus, 1) || modbus_connect(bus)) {
            printf("error\n");
            return 1;
        }
        modbus_set_response_timeout(bus, PATIENCE_S, 0);
        modbus_set_byte_timeout(bus, PATIENCE_S, 0);
        uint16_t written[WORDS] = { 0 }, read[WORDS];
        int failures = 0;
        double begun_used = used();
        int64_t begun = now();
        for (int i = 0; i < exchanges; i++) {
            written[0] = i;
            failures += ask(bus, function, written, read) != WORDS;
            if (silence_us > 0)
                wait_until(now() + silence_us * 1000LL);
        }
        int64_t ended = now();
        printf("%.9f %.6f %d\n", (ended - begun) / 1e9, used() - begun_used, failures);
        fflush(stdout);
        modbus_close(bus);
        modbus_free(bus);
    }
    return 0;
}
