/* A servo axis as far as a supervisor sees it: position and velocity that follow a ramp. Units: counts, counts/s, counts/s^2. */
#ifndef SERVO_H
#define SERVO_H

#include <stdbool.h>

enum servo_motion { SERVO_HOLD, SERVO_TO_TARGET, SERVO_AT_SPEED, SERVO_STOPPING };

struct servo {
    double position;
    double velocity;
    double target;
    double top_velocity;
    double acceleration;
    double deceleration;
    double torque_limit; /* percent of rated */
    double torque;       /* percent of rated */
    bool powered;
    enum servo_motion motion;
};

/* Goes to a position; a move under way is replaced. */
void servo_move(struct servo *servo, double target, double velocity, double acceleration, double deceleration);

/* Runs at a signed velocity until told otherwise. */
void servo_run(struct servo *servo, double velocity, double acceleration);

/* Comes to rest at this deceleration. */
void servo_stop(struct servo *servo, double deceleration);

/* Calls the present position by another number. */
void servo_renumber(struct servo *servo, double position);

/* Lets dt seconds pass. */
void servo_step(struct servo *servo, double dt);

bool servo_at_rest(const struct servo *servo);

#endif
