/* A small drive behind registers. Its kind says which registers there are, what they mean and how it is commanded. */
#ifndef DRIVE_H
#define DRIVE_H

#include <stdbool.h>
#include <stdint.h>

#include "servo.h"

#define DRIVE_REGISTERS 400
#define DRIVE_STEP_S 0.001
#define DRIVE_QUICK_STOP 200000.0 /* counts/s^2 */
#define DRIVE_ERROR_SILENCE 0x7510 /* CiA 402: serial interface */
#define DRIVE_SERIAL_NUMBER 310417u

/* Where the drive stands in its own homing. */
enum drive_homing { HOMING_IDLE, HOMING_SEEK, HOMING_LEAVE, HOMING_DONE };

struct drive;

struct register_range {
    int first;
    int count;
    bool writable;
};

struct drive_kind {
    const char *name;
    const uint8_t *functions; /* served ones, ending with 0 */
    int most_registers;       /* of one request */
    bool fed_by_writes;       /* only writes keep the communication time-out quiet */
    int busy_every;           /* every so many requests get exception 06, busy; 0: none */
    const struct register_range *ranges;
    int range_count;
    void (*start)(struct drive *drive);
    void (*command)(struct drive *drive); /* registers were written */
    void (*advance)(struct drive *drive); /* DRIVE_STEP_S has passed */
    void (*publish)(struct drive *drive); /* registers are about to be read */
    bool (*takes)(const struct drive *drive, int first, int count); /* writes it takes now; NULL: all that it allows */
};

struct drive {
    const struct drive_kind *kind;
    uint16_t *registers;
    struct servo servo;
    double uptime_s;
    double silent_s;
    uint16_t inputs;
    uint16_t error;     /* latched */
    bool cause_present; /* a fault that was put in by hand stays until it is taken out */
    bool homed;
    enum drive_homing homing;
    double home_switch; /* where the switch is, in present counts */
    uint16_t last_command;
    uint16_t status; /* state word or bits of the kind */
    bool acknowledge;
    bool queued;
    double queued_target;
};

extern const struct drive_kind cia402_kind;
extern const struct drive_kind bits_kind;
extern const struct drive_kind single_kind;
extern const struct drive_kind awkward_kind;

void drive_start(struct drive *drive, const struct drive_kind *kind, uint16_t *registers);

/* Lets the drive live until uptime_s; the master has been silent all the while. */
void drive_advance_to(struct drive *drive, double uptime_s);

bool drive_allows(const struct drive *drive, int first, int count, bool write);

/* Homing: seek the switch, leave it slowly, call that place offset. Returns true in the step in which it is done. */
void drive_begin_homing(struct drive *drive, double fast, double acceleration);
bool drive_step_homing(struct drive *drive, double slow, double acceleration, double offset, bool positive);

uint32_t high_first(const uint16_t *registers, int at);
uint32_t low_first(const uint16_t *registers, int at);
void put_high_first(uint16_t *registers, int at, uint32_t value);
void put_low_first(uint16_t *registers, int at, uint32_t value);

#endif
