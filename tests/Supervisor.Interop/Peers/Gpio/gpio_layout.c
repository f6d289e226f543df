/* Prints sizes, offsets and numbers of linux/gpio.h, one a line. */
#include <linux/gpio.h>
#include <stddef.h>

#define STRUCTS(SIZE, AT) \
    SIZE(gpiochip_info) AT(gpiochip_info, name) AT(gpiochip_info, label) AT(gpiochip_info, lines) \
    SIZE(gpio_v2_line_info) AT(gpio_v2_line_info, name) AT(gpio_v2_line_info, consumer) AT(gpio_v2_line_info, offset) \
    AT(gpio_v2_line_info, flags) \
    SIZE(gpio_v2_line_request) AT(gpio_v2_line_request, offsets) AT(gpio_v2_line_request, consumer) AT(gpio_v2_line_request, config) \
    AT(gpio_v2_line_request, num_lines) AT(gpio_v2_line_request, event_buffer_size) AT(gpio_v2_line_request, fd) \
    SIZE(gpio_v2_line_config) AT(gpio_v2_line_config, flags) AT(gpio_v2_line_config, num_attrs) AT(gpio_v2_line_config, attrs) \
    SIZE(gpio_v2_line_config_attribute) AT(gpio_v2_line_config_attribute, attr.id) AT(gpio_v2_line_config_attribute, attr.values) \
    AT(gpio_v2_line_config_attribute, mask) \
    SIZE(gpio_v2_line_values) AT(gpio_v2_line_values, bits) AT(gpio_v2_line_values, mask) \
    SIZE(gpio_v2_line_event) AT(gpio_v2_line_event, timestamp_ns) AT(gpio_v2_line_event, id) AT(gpio_v2_line_event, offset) \
    AT(gpio_v2_line_event, seqno) AT(gpio_v2_line_event, line_seqno)

#ifdef ONLY_ASSERT
/* For a width whose programs don't run here: the layouts must be those of 64 bits. */
_Static_assert(sizeof(struct gpio_v2_line_request) == 592 && offsetof(struct gpio_v2_line_request, config) == 288
    && offsetof(struct gpio_v2_line_request, fd) == 588, "line request");
_Static_assert(sizeof(struct gpio_v2_line_info) == 256 && offsetof(struct gpio_v2_line_info, flags) == 72, "line info");
_Static_assert(sizeof(struct gpio_v2_line_config) == 272 && sizeof(struct gpio_v2_line_config_attribute) == 24
    && offsetof(struct gpio_v2_line_config, attrs) == 32, "line config");
_Static_assert(sizeof(struct gpio_v2_line_event) == 48 && offsetof(struct gpio_v2_line_event, line_seqno) == 20, "line event");
_Static_assert(sizeof(struct gpiochip_info) == 68 && sizeof(struct gpio_v2_line_values) == 16, "chip info, line values");
#else
#include <stdio.h>

#define SIZE(what) printf("%s %zu\n", #what, sizeof(struct what));
#define AT(what, member) printf("%s.%s %zu\n", #what, #member, offsetof(struct what, member));
#define NUMBER(what) printf("%s %llu\n", #what, (unsigned long long)what);

int main(void)
{
    STRUCTS(SIZE, AT)
    NUMBER(GPIO_MAX_NAME_SIZE)
    NUMBER(GPIO_GET_CHIPINFO_IOCTL)
    NUMBER(GPIO_V2_GET_LINEINFO_IOCTL)
    NUMBER(GPIO_V2_GET_LINE_IOCTL)
    NUMBER(GPIO_V2_LINE_SET_CONFIG_IOCTL)
    NUMBER(GPIO_V2_LINE_GET_VALUES_IOCTL)
    NUMBER(GPIO_V2_LINE_SET_VALUES_IOCTL)
    NUMBER(GPIO_V2_LINE_FLAG_USED)
    NUMBER(GPIO_V2_LINE_FLAG_ACTIVE_LOW)
    NUMBER(GPIO_V2_LINE_FLAG_INPUT)
    NUMBER(GPIO_V2_LINE_FLAG_OUTPUT)
    NUMBER(GPIO_V2_LINE_FLAG_EDGE_RISING)
    NUMBER(GPIO_V2_LINE_FLAG_EDGE_FALLING)
    NUMBER(GPIO_V2_LINE_FLAG_BIAS_PULL_UP)
    NUMBER(GPIO_V2_LINE_FLAG_BIAS_PULL_DOWN)
    NUMBER(GPIO_V2_LINE_FLAG_BIAS_DISABLED)
    NUMBER(GPIO_V2_LINE_ATTR_ID_OUTPUT_VALUES)
    NUMBER(GPIO_V2_LINE_EVENT_RISING_EDGE)
    NUMBER(GPIO_V2_LINE_EVENT_FALLING_EDGE)
    return 0;
}
#endif
