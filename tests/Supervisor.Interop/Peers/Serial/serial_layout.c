/* Prints sizes, offsets and numbers of the kernel's headers of serial ports, one a line. */
#include <asm/ioctls.h>
#include <asm/termbits.h>
#include <linux/serial.h>
#include <stddef.h>
#include <stdio.h>

#define SIZE(what) printf("%s %zu\n", #what, sizeof(struct what));
#define AT(what, member) printf("%s.%s %zu\n", #what, #member, offsetof(struct what, member));
#define NUMBER(what) printf("%s %lu\n", #what, (unsigned long)(what));

int main(void)
{
    SIZE(termios2) AT(termios2, c_cflag) AT(termios2, c_cc) AT(termios2, c_ispeed) AT(termios2, c_ospeed)
    SIZE(serial_rs485) AT(serial_rs485, delay_rts_before_send) AT(serial_rs485, delay_rts_after_send)
    NUMBER(TCGETS2) NUMBER(TCSETS2) NUMBER(TIOCEXCL) NUMBER(TIOCGRS485) NUMBER(TIOCSRS485)
    NUMBER(SER_RS485_ENABLED) NUMBER(SER_RS485_RTS_ON_SEND) NUMBER(SER_RS485_RTS_AFTER_SEND) NUMBER(SER_RS485_RX_DURING_TX)
    return 0;
}
