/*
 * Serves one module of digital inputs and outputs on a serial line by libmodbus:  module_slave TTY ADDRESS
 *
 * The same bits twice: discrete inputs 8 to 23 and, packed, input register 0; coils 0 to 7 and, packed, holding register 100. Holding register
 * 4096 is its communication time-out in units of 10 ms, 4097 arms it while it holds 1: after so long a silence every output goes off.
 *
 * Says "ready" once it listens, "armed N" and "fell" (outputs off by silence). Lines on standard input: "input N 0|1" (N from 0), "mute 0|1",
 * "dip" (its supply drops for a moment: outputs and settings are gone), "outputs MARK" (says "outputs MARK BITS", output 0 first). Ends when
 * standard input ends, so that it never outlives whoever started it.
 */
#include <errno.h>
#include <modbus.h>
#include <sched.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/select.h>
#include <time.h>
#include <unistd.h>

#define TICK_S 0.01
#define UNIT_S 0.01
#define INPUTS 16
#define FIRST_INPUT 8
#define OUTPUTS 8
#define FIRST_HOLDING 100
#define HOLDINGS 4000
#define TIME 4096
#define ARM 4097

static modbus_mapping_t *map;
static double fed_s;
static bool mute;
static bool armed;

static double now_s(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

static uint16_t *holding(int number)
{
    return &map->tab_registers[number - FIRST_HOLDING];
}

static void say(const char *text, int number)
{
    printf(text, number);
    fflush(stdout);
}

/* Whichever of the two was written last counts. */
static void outputs_from(bool coils)
{
    uint16_t word = 0;
    for (int i = 0; i < OUTPUTS; i++) {
        if (coils) {
            word |= (uint16_t)(map->tab_bits[i] ? 1u << i : 0);
        } else {
            map->tab_bits[i] = (uint8_t)(*holding(FIRST_HOLDING) >> i & 1);
        }
    }

    if (coils) {
        *holding(FIRST_HOLDING) = word;
    }
}

static void outputs_off(void)
{
    memset(map->tab_bits, 0, OUTPUTS);
    *holding(FIRST_HOLDING) = 0;
}

static void watch(double now)
{
    bool arms = *holding(ARM) == 1 && *holding(TIME) > 0;
    if (arms && !armed) {
        say("armed %d\n", *holding(TIME));
    }

    armed = arms;
    if (armed && now - fed_s > *holding(TIME) * UNIT_S) {
        bool any = *holding(FIRST_HOLDING) != 0;
        outputs_off();
        fed_s = now;
        if (any) {
            say("fell\n", 0);
        }
    }
}

/* False when the line is gone. */
static bool serve(modbus_t *context)
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

    fed_s = now_s();
    bool sent = modbus_reply(context, request, length, map) >= 0 || errno != EIO;
    if (request[1] == 5 || request[1] == 15) {
        outputs_from(true);
    } else if (request[1] == 6 || request[1] == 16 || request[1] == 22) {
        outputs_from(false);
    }

    return sent;
}

static void obey_line(const char *line)
{
    int number;
    unsigned value;

    if (sscanf(line, "input %d %u", &number, &value) == 2 && number >= 0 && number < INPUTS) {
        uint16_t bit = (uint16_t)(1u << number);
        map->tab_input_bits[number] = value != 0;
        map->tab_input_registers[0] = value ? map->tab_input_registers[0] | bit : map->tab_input_registers[0] & (uint16_t)~bit;
    } else if (sscanf(line, "mute %u", &value) == 1) {
        mute = value != 0;
    } else if (strncmp(line, "dip", 3) == 0) {
        outputs_off();
        *holding(TIME) = 0;
        *holding(ARM) = 0;
    } else if (sscanf(line, "outputs %d", &number) == 1) {
        printf("outputs %d ", number);
        for (int i = 0; i < OUTPUTS; i++) {
            putchar(map->tab_bits[i] ? '1' : '0');
        }

        putchar('\n');
        fflush(stdout);
    } else {
        fprintf(stderr, "not understood: %s", line);
    }
}

static int run(modbus_t *context)
{
    int line_descriptor = modbus_get_socket(context);
    double awake_s = fed_s = now_s();

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

        /* A module does not sleep: what this program was kept from hearing must not look like a silent master. */
        double now = now_s();
        fed_s += now - awake_s > 2 * TICK_S ? now - awake_s : 0;
        awake_s = now;
        if (FD_ISSET(STDIN_FILENO, &ready)) {
            char line[128];
            if (!fgets(line, sizeof line, stdin)) {
                return 0;
            }

            obey_line(line);
        }

        if (FD_ISSET(line_descriptor, &ready) && !serve(context)) {
            return 0;
        }

        watch(now_s());
    }
}

int main(int argc, char **argv)
{
    if (argc != 3) {
        fprintf(stderr, "usage: module_slave TTY ADDRESS\n");
        return 2;
    }

    /* A module waits for nothing else that this computer does; where that is not permitted it stays ordinary. */
    struct sched_param priority = { .sched_priority = 30 };
    sched_setscheduler(0, SCHED_FIFO, &priority);

    /* select and stdio's buffer do not know of each other. */
    setvbuf(stdin, NULL, _IONBF, 0);
    modbus_t *context = modbus_new_rtu(argv[1], 115200, 'N', 8, 1);
    map = modbus_mapping_new_start_address(0, OUTPUTS, FIRST_INPUT, INPUTS, FIRST_HOLDING, HOLDINGS, 0, 1);
    if (!context || !map || modbus_set_slave(context, atoi(argv[2])) != 0 || modbus_connect(context) != 0) {
        fprintf(stderr, "%s: %s\n", argv[1], modbus_strerror(errno));
        return 1;
    }

    puts("ready");
    fflush(stdout);
    int code = run(context);
    modbus_close(context);
    modbus_free(context);
    modbus_mapping_free(map);
    return code;
}
