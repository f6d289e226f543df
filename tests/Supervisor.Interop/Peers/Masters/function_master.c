/*
 * Asks one slave once by the functions that libmodbus has and this program's command line master does not try:  function_master TTY ADDRESS
 *
 * Reads input registers 3 and 4 (function 04), switches coil 5 on and coil 6 off (05), coils 8 to 17 by CDh 01h, the lowest bit first (0Fh), and
 * changes holding register 4 by masks F2h and 25h (16h). Prints "input A B" and a line for each that was done; what fails is printed with its reason.
 */
#include <errno.h>
#include <modbus.h>
#include <stdio.h>
#include <stdlib.h>

static int failed;

static void tell(const char *what, int result, int wanted)
{
    if (result == wanted) {
        printf("%s done\n", what);
    } else {
        printf("%s failed: %s\n", what, modbus_strerror(errno));
        failed = 1;
    }
}

int main(int count, char **words)
{
    modbus_t *line;
    uint16_t inputs[2] = {0, 0};
    const uint8_t coils[10] = {1, 0, 1, 1, 0, 0, 1, 1, 1, 0};

    if (count != 3 || (line = modbus_new_rtu(words[1], 115200, 'N', 8, 1)) == NULL) {
        return 2;
    }

    modbus_set_slave(line, atoi(words[2]));
    modbus_set_response_timeout(line, 5, 0);
    if (modbus_connect(line) != 0) {
        printf("not opened: %s\n", modbus_strerror(errno));
        return 1;
    }

    tell("read input registers", modbus_read_input_registers(line, 3, 2, inputs), 2);
    printf("input %04X %04X\n", inputs[0], inputs[1]);
    tell("write coil on", modbus_write_bit(line, 5, 1), 1);
    tell("write coil off", modbus_write_bit(line, 6, 0), 1);
    tell("write coils", modbus_write_bits(line, 8, 10, coils), 10);
    tell("mask write", modbus_mask_write_register(line, 4, 0x00F2, 0x0025), 1);
    modbus_close(line);
    modbus_free(line);
    return failed;
}
