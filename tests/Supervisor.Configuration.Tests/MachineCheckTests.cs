using Supervisor.Configuration.Machines;

namespace Supervisor.Configuration.Tests;

/// <summary>Every check of a machine file: the example with one thing wrong gives exactly that one error.</summary>
public sealed class MachineCheckTests
{
    [Theory]
    // File and machine
    [InlineData("machine -", "machine: is missing: an object with the machine's name")]
    [InlineData("machine.name = \"\"", "machine.name: must not be empty")]
    [InlineData("machine.name = \"a\\nb\"", "machine.name: \"a\\u000ab\" holds a control or invisible character; take it out")]
    [InlineData("mashine = {}", "mashine: unknown member; did you mean \"machine\"?")]
    [InlineData("colour = 1", "colour: unknown member; known: \"$schema\", \"machine\", \"ports\", \"axes\", \"modules\", \"interlocks\", \"zones\", \"authority\", \"outputs\", \"powerEnable\", \"alive\", \"history\", \"languages\", \"counters\", \"alarms\", \"signals\", \"outOfService\", \"messages\"")]
    [InlineData("outOfService = { \"longestMinutes\": 1441 }", "outOfService.longestMinutes: 1441 must be 1 to 1440 min")]
    [InlineData("interlocks = {}", "interlocks: an array is expected, found an object")]
    [InlineData("interlocks = null", "interlocks: an array is expected, found null; leave the member out instead")]
    [InlineData("history = { \"incidentWindowMs\": 50 }", "history.incidentWindowMs: 50 must be 100 to 600000 ms")]
    [InlineData("history = { \"incidentWindowS\": 5 }", "history.incidentWindowS: unknown member; did you mean \"incidentWindowMs\"?")]
    // Ports
    [InlineData("ports[0].baud = 0", "ports[0].baud: 0 must be 1 to 20000000 bit/s")]
    [InlineData("ports[0].baud = 9600.5", "ports[0].baud: 9600.5 must be a whole number")]
    [InlineData("ports[0].baud = \"9600\"", "ports[0].baud: a number is expected, found the text \"9600\"")]
    [InlineData("ports[0].baud -", "ports[0].baud: is missing: bits per second")]
    [InlineData("ports[0].parity = \"evn\"", "ports[0].parity: \"evn\" is none of \"none\", \"even\", \"odd\"; did you mean \"even\"?")]
    [InlineData("ports[0].stopBits = 3", "ports[0].stopBits: 3 must be 1 to 2")]
    [InlineData("ports[0].cycleMs = 0", "ports[0].cycleMs: 0 must be above 0 and at most 10000 ms")]
    [InlineData("ports[0].responseTimeoutMs = 40", "ports[0].responseTimeoutMs: 40 ms is not below cycleMs 40 ms: one silent drive would take the whole cycle")]
    [InlineData("ports[0].responseTimeoutMs = 0", "ports[0].responseTimeoutMs: 0 must be above 0 and at most 10000 ms")]
    [InlineData("ports[0].retries = 11", "ports[0].retries: 11 must be 0 to 10")]
    [InlineData("ports[0].retries = -1", "ports[0].retries: -1 must be 0 to 10")]
    [InlineData("ports[0].gap = \"none\"", "ports[0].gap: \"none\" is none of \"standard\", \"proportional\"")]
    [InlineData("ports[0].gap = { \"us\": 0 }", "ports[0].gap.us: 0 must be above 0 and at most 100000 us")]
    [InlineData("ports[0].gap = { \"ms\": 1 }", "ports[0].gap.ms: unknown member; did you mean \"us\"?")]
    [InlineData("ports[0].gap = 300", "ports[0].gap: \"standard\", \"proportional\" or { \"us\": … } is expected, found the number 300")]
    [InlineData("ports[0].rs485 = true", "ports[0].rs485: an object is expected, found true")]
    [InlineData("ports[0].rs485 = {}", "ports[0].rs485.send: is missing: \"rtsHigh\" or \"rtsLow\": RTS while sending")]
    [InlineData("ports[0].rs485 = { \"send\": \"rtsHih\" }", "ports[0].rs485.send: \"rtsHih\" is none of \"rtsHigh\", \"rtsLow\"; did you mean \"rtsHigh\"?")]
    [InlineData("ports[0].rs485 = { \"send\": \"rtsLow\", \"delayAfterMs\": 0.5 }", "ports[0].rs485.delayAfterMs: 0.5 must be a whole number")]
    [InlineData("ports[0].rs485 = { \"send\": \"rtsLow\", \"delayBeforeMs\": 101 }", "ports[0].rs485.delayBeforeMs: 101 must be 0 to 100 ms")]
    [InlineData("ports[0].errorRate = { \"exchanges\": 10 }", "ports[0].errorRate.exchanges: 10 must be 100 to 10000")]
    [InlineData("ports[0].errorRate = { \"warningPercent\": 0 }", "ports[0].errorRate.warningPercent: 0 must be above 0 and at most 100 %")]
    [InlineData("ports[0].errorRate = { \"faultPercent\": 2 }", "ports[0].errorRate.faultPercent: the fault's 2 % is not above the warning's 2 %")]
    [InlineData("ports[0].errorRate = { \"warningPercent\": 100 }", "ports[0].errorRate.warningPercent: the fault's 100 % is not above the warning's 100 %")]
    [InlineData("ports[1] = { \"name\": \"line-a\", \"device\": \"/dev/b\", \"baud\": 9600, \"cycleMs\": 100 }", "ports[1].name: port \"line-a\" appears twice; first in line 1")]
    [InlineData("ports[1] = { \"name\": \"b\", \"device\": \"/dev/serial/by-path/../by-path/platform-usb-0:1:1.0-port0\", \"baud\": 9600, \"cycleMs\": 100 }", "ports[1].device: \"/dev/serial/by-path/../by-path/platform-usb-0:1:1.0-port0\" is already the device of the port in line 1")]
    [InlineData("ports[1] = { \"name\": \"b=c\", \"device\": \"/dev/b\", \"baud\": 9600, \"cycleMs\": 100 }", "ports[1].name: \"b=c\" must not contain '='")]
    // Axes
    [InlineData("axes[0].name = \"dibber.z\"\ninterlocks[1].axes = [\"gantry\"]", "axes[0].name: \"dibber.z\" must not contain '.'")]
    [InlineData("axes[0].name = \"all\"\ninterlocks[1].axes = [\"gantry\"]", "axes[0].name: \"all\" means every axis; choose another name")]
    [InlineData("axes[0].name = \"-x\"\ninterlocks[1].axes = [\"gantry\"]", "axes[0].name: \"-x\" must not begin or end with a blank or begin with '-'")]
    [InlineData("axes[0].name = \"drum\"\ninterlocks[1].axes = [\"gantry\"]", "axes[3].name: axis \"drum\" appears twice; first in line 1")]
    [InlineData("axes[0].port = \"line-b\"", "axes[0].port: no port \"line-b\"; did you mean \"line-a\"?")]
    [InlineData("axes[0].address = 0", "axes[0].address: 0 must be 1 to 247 (0 is broadcast, 248 to 255 are reserved)")]
    [InlineData("axes[0].address = 248", "axes[0].address: 248 must be 1 to 247 (0 is broadcast, 248 to 255 are reserved)")]
    [InlineData("axes[0].address = 4", "axes[3].address: address 4 on port \"line-a\" is already used by the axis in line 1")]
    [InlineData("axes[0].definition = 7", "axes[0].definition: a text is expected, found the number 7")]
    [InlineData("axes[0].unit = \" \"", "axes[0].unit: must not be empty")]
    [InlineData("axes[0].countsPerUnit = 0", "axes[0].countsPerUnit: 0 must be above 0")]
    [InlineData("axes[0].countsPerUnit = -1000", "axes[0].countsPerUnit: -1000 must be above 0")]
    [InlineData("axes[0].countsPerUnit = 1e400", "axes[0].countsPerUnit: 1e400 is too large to be meant")]
    [InlineData("axes[0].inverted = 1", "axes[0].inverted: true or false is expected, found the number 1")]
    [InlineData("axes[0].jog = { \"velocity\": 0 }", "axes[0].jog.velocity: 0 must be above 0 mm/s")]
    [InlineData("axes[0].jog = { \"velocity\": 251 }", "axes[0].jog.velocity: 251 mm/s is above the velocity limit of 250 mm/s")]
    [InlineData("axes[0].jog = {}", "axes[0].jog.velocity: is missing: velocity of a jog that names none")]
    [InlineData("axes[0].enablingInput = \"drom.input1\"", "axes[0].enablingInput: \"drom.input1\": no axis \"drom\"; did you mean \"drum\"?")]
    [InlineData("axes[0].enablingInput = 4", "axes[0].enablingInput: a text is expected, found the number 4")]
    [InlineData("axes[3].endless.period = 0", "axes[3].endless.period: 0 must be above 0 deg")]
    [InlineData("axes[3].endless = true\naxes[3].limits.position = [0, 1]", "axes[3].endless: an object is expected, found true")]
    [InlineData("axes[3].limits.position = [0, 360]", "axes[3].limits.position: an endless axis has no position limits; take them out, or take \"endless\" out")]
    [InlineData("axes[0].limits.position -", "axes[0].limits.position: is missing: [lower, upper]; an axis without ends says \"endless\" instead")]
    [InlineData("axes[0].limits.position = [200, 180]", "axes[0].limits.position: lower limit 200 is above upper limit 180 (mm)")]
    [InlineData("axes[0].limits.position = [180, 180]", "axes[0].limits.position: lower and upper limit are both 180 (mm): the axis could not move")]
    [InlineData("axes[0].limits.position = [0]", "axes[0].limits.position: two numbers are expected, found 1")]
    [InlineData("axes[0].limits.position = [0, \"x\"]", "axes[0].limits.position[1]: a number is expected, found the text \"x\"")]
    [InlineData("axes[0].limits.velocity = 0\naxes[0].homing.fast = 1\naxes[0].homing.slow = 1", "axes[0].limits.velocity: 0 must be above 0 mm/s")]
    [InlineData("axes[0].limits.acceleration = -1", "axes[0].limits.acceleration: -1 must be above 0 mm/s²")]
    [InlineData("axes[0].limits.deceleration = 0", "axes[0].limits.deceleration: 0 must be above 0 mm/s²")]
    [InlineData("axes[0].limits.acceleration = 1e-3", "axes[0].limits.acceleration: the highest velocity is reached only after 250000 s, at most 3600 s are supervised; check the number and its unit")]
    [InlineData("axes[0].limits.deceleration = 1e-300", "axes[0].limits.deceleration: a stop from the highest velocity ends only after 2.5E+302 s, at most 3600 s are supervised; check the number and its unit")]
    [InlineData("axes[0].limits.jerk = 0.5", "axes[0].limits.jerk: the steepest ramp is reached only after 4000 s, at most 3600 s are supervised; check the number and its unit")]
    [InlineData("axes[0].limits.jerk = 0", "axes[0].limits.jerk: 0 must be above 0 mm/s³")]
    [InlineData("axes[0].inPosition.window = 0", "axes[0].inPosition.window: 0 must be above 0 mm")]
    [InlineData("axes[0].inPosition.window = 0.0005", "axes[0].inPosition.window: 0.0005 mm is less than one count (0.001 mm): no move would arrive")]
    [InlineData("axes[3].inPosition = { \"window\": 180 }", "axes[3].inPosition.window: 180 deg is half of a turn (360 deg) or more: everything would be in position")]
    [InlineData("axes[0].inPosition.dwellMs = -1", "axes[0].inPosition.dwellMs: -1 must be 0 to 60000 ms")]
    [InlineData("axes[0].followingError.limit = 0", "axes[0].followingError.limit: 0 must be above 0 mm")]
    [InlineData("axes[0].torque.moving = 501", "axes[0].torque.moving: 501 must be above 0 and at most 500 % of rated")]
    [InlineData("axes[0].torque.holding = 0", "axes[0].torque.holding: 0 must be above 0 and at most 500 % of rated")]
    [InlineData("axes[0].homing.method = 36", "axes[0].homing.method: 36 is no homing method of CiA 402: 1 to 14, 17 to 30, 33, 34, 35, 37, or the maker's own below 0")]
    [InlineData("axes[0].homing.method = 0", "axes[0].homing.method: 0 is no homing method of CiA 402: 1 to 14, 17 to 30, 33, 34, 35, 37, or the maker's own below 0")]
    [InlineData("axes[0].homing.fast = 0", "axes[0].homing.fast: 0 must be above 0 mm/s")]
    [InlineData("axes[0].homing.slow = 0", "axes[0].homing.slow: 0 must be above 0 mm/s")]
    [InlineData("axes[0].homing.fast = 251", "axes[0].homing.fast: 251 mm/s is above limits.velocity 250 mm/s")]
    [InlineData("axes[0].homing.slow = 41", "axes[0].homing.slow: 41 mm/s is above fast 40 mm/s")]
    [InlineData("axes[0].homing.timeoutMs = 0", "axes[0].homing.timeoutMs: 0 must be above 0 and at most 3600000 ms")]
    [InlineData("axes[0].homing.order = 1.5", "axes[0].homing.order: 1.5 must be a whole number")]
    [InlineData("axes[0].homing -", "axes[0].homing: is missing: an incremental axis (the default) is enabled only once it was homed; add homing, or say \"reference\": \"absolute\" or \"none\"")]
    [InlineData("axes[0].reference = \"none\"", "axes[0].reference: \"none\" contradicts homing, which finds a zero; take one of the two out")]
    [InlineData("axes[3].reference = \"incremental\"\naxes[3].homing = { \"method\": 17, \"fast\": 90, \"slow\": 9 }", "axes[3].homing.method: method 17 looks for a limit switch, which an endless axis does not have")]
    [InlineData("axes[0].reference = \"inkremental\"", "axes[0].reference: \"inkremental\" is none of \"incremental\", \"absolute\", \"none\"; did you mean \"incremental\"?")]
    [InlineData("axes[0].brake.closeMs -", "axes[0].brake.closeMs: is missing: time from closing the brake to its holding")]
    [InlineData("axes[0].brake.releaseMs = -5", "axes[0].brake.releaseMs: -5 must be 0 to 10000 ms")]
    [InlineData("axes[0].group = \"a.b\"", "axes[0].group: \"a.b\" must not contain '.'")]
    [InlineData("axes[0].communicationTimeoutMs = 169", "axes[0].communicationTimeoutMs: 169 ms is too short: at least 3 cycles of 40 ms and 50 ms, 170 ms")]
    // Between the legal silence of the line and what the stop may take: 250 ms, 125 ms ramp of 250 mm/s at 2000 mm/s², 60 ms brake.
    [InlineData("axes[0].communicationTimeoutMs = 194", "axes[0].communicationTimeoutMs: 194 ms is too short for this line: port \"line-a\" may leave the drive unasked for 145 ms (a cycle of 40 ms, 2 repeats of its own, and other units that let 20 ms pass without an answer), and 50 ms come on top; give at least 195 ms, or the port a shorter responseTimeoutMs or fewer retries")]
    [InlineData("axes[0].stopBudgetMs = 484", "axes[0].communicationTimeoutMs: 250 ms is too long for stopBudgetMs 484: with 175 ms ramp from top speed and 60 ms brake the axis rests 485 ms after the loss of the supervisor; give a shorter time-out, a steeper deceleration or a lower velocity, or a longer budget if the risk assessment allows it")]
    [InlineData("axes[0].stopBudgetMs = 0", "axes[0].stopBudgetMs: 0 must be above 0 and at most 600000 ms")]
    [InlineData("axes[0].communicationTimeoutMs = 700\ninterlocks[0].offDelayMs = 700", "axes[0].communicationTimeoutMs: 700 ms is not shorter than offDelayMs 700 of \"emergency stop\": with the supervisor lost, the relay would take the power before the drive began to stop; give a shorter time-out, or the relay a longer delay if the risk assessment allows it")]
    // 40 ms until the guard's drive is read, the stop frame, 125 ms ramp and 2000/40000 s more for its jerk, 60 ms brake.
    [InlineData("interlocks[1].axes = [\"dibber\"]\ninterlocks[1].offDelayMs = 300", "interlocks[1].offDelayMs: 300 ms is shorter than the stop of \"dibber\", 300.9 ms: 40 ms until the input is read, 25.9 ms to the stop frame, 175 ms ramp, 60 ms brake; give the relay a longer delay if the risk assessment allows it, or the axis a steeper deceleration or a lower velocity")]
    [InlineData("ports[0].baud = 19200", "ports[0].cycleMs: 40 ms can't be met: reading its 4 axes takes 68.5 ms at 19200 baud (dibber 17.1 ms, tray 17.1 ms, gantry 17.1 ms, drum 17.1 ms); give a longer cycle, a higher rate, a shorter gap where the drives allow it, fewer feedback registers, or another port to some axes")]
    // 8 registers: 21 characters of 10 bits.
    [InlineData("ports[0].responseTimeoutMs = 1.8", "ports[0].responseTimeoutMs: 1.8 ms is too short: the longest answer of \"dibber\" has 21 bytes and takes 1.82 ms at 115200 baud; give a longer one, a higher rate, or fewer registers at a time (wire.read.maxRegisters)")]
    [InlineData("axes[0].communicationTimeoutMs = 0", "axes[0].communicationTimeoutMs: 0 must be above 0 and at most 60000 ms")]
    // Recovery
    [InlineData("axes[0].recovery[0].faults = [\"grave\"]", "axes[0].recovery[0].faults[0]: \"grave\" faults are never recovered without a person; take it out")]
    [InlineData("axes[0].recovery[0].faults = [\"daemon\"]", "axes[0].recovery[0].faults[0]: \"daemon\" faults are never recovered without a person; take it out")]
    [InlineData("axes[0].recovery[0].faults = [\"timeout\"]", "axes[0].recovery[0].faults[0]: \"timeout\" is none of \"link\", \"restart\", \"supply\", \"temperature\", \"following\", \"timeOut\", \"drive\"; did you mean \"timeOut\"?")]
    [InlineData("axes[0].recovery[0].faults = []", "axes[0].recovery[0].faults: is empty; name classes of \"link\", \"restart\", \"supply\", \"temperature\", \"following\", \"timeOut\", \"drive\"")]
    [InlineData("axes[0].recovery[0].faults = [\"link\", \"link\"]", "axes[0].recovery[0].faults[1]: \"link\" already has a recovery in line 1")]
    [InlineData("axes[0].recovery[0].then = \"enable\"", "axes[0].recovery[0].then: \"enable\" is none of \"reset\", \"resetAndEnable\", \"resetAndHome\"")]
    [InlineData("axes[0].recovery[0].attempts = 0", "axes[0].recovery[0].attempts: 0 must be 1 to 100")]
    [InlineData("axes[0].recovery[0].withinMs -", "axes[0].recovery[0].withinMs: is missing: time in which the attempts are counted")]
    [InlineData("axes[0].recovery[0].backOff = 500", "axes[0].recovery[0].backOff: an object is expected, found the number 500")]
    [InlineData("axes[0].recovery[0].backOff = { \"first\": 500 }", "axes[0].recovery[0].backOff.first: unknown member; known: \"initialMs\", \"factor\", \"longestMs\"")]
    [InlineData("axes[0].recovery[0].backOff = { \"initialMs\": -1 }", "axes[0].recovery[0].backOff.initialMs: -1 must be 0 to 86400000 ms")]
    [InlineData("axes[0].recovery[0].backOff = { \"factor\": 0.5 }", "axes[0].recovery[0].backOff.factor: 0.5 must be 1 to 10")]
    [InlineData("axes[0].recovery[0].backOff = { \"longestMs\": 0 }", "axes[0].recovery[0].backOff.longestMs: 0 must be above 0 and at most 86400000 ms")]
    [InlineData("axes[0].recovery[0].backOff = { \"initialMs\": 2000, \"longestMs\": 1000 }", "axes[0].recovery[0].backOff.initialMs: 2000 ms is above longestMs 1000 ms; the first wait is the shortest")]
    [InlineData("axes[0].recovery[0].backOff = { \"longestMs\": 60000 }", "axes[0].recovery[0].backOff.longestMs: 60000 ms is not below withinMs 60000 ms: attempts would be forgotten before the next; wait shorter, or count longer")]
    [InlineData("axes[0].recovery[0].backOff = { \"initialMs\": 70000 }", "axes[0].recovery[0].backOff.initialMs: 70000 ms is not below withinMs 60000 ms: attempts would be forgotten before the next; wait shorter, or count longer")]
    [InlineData("axes[0].recovery[0].speedPercent = 50", "axes[0].recovery[0].speedPercent: is the speed after a following error, which \"faults\" does not name; take it out, or name \"following\"")]
    [InlineData("axes[0].recovery[0].faults = [\"following\"]\naxes[0].recovery[0].speedPercent = 100", "axes[0].recovery[0].speedPercent: 100 must be above 0 and at most 90 % of the speed asked for")]
    // Interlocks. Category 2 for an emergency stop: IEC 60204-1 (read in a secondary text).
    [InlineData("interlocks[0].stopCategory = 2", "interlocks[0].stopCategory: an emergency stop must not be of category 2, which keeps power on (IEC 60204-1); give 0 or 1")]
    [InlineData("interlocks[2].offDelayMs = 500", "interlocks[2].offDelayMs: is the delay of a safety relay, which a process condition has not; take it out")]
    [InlineData("axes[0].stop = { \"velocity\": 100, \"timeMs\": 10, \"distance\": 5 }", "axes[0].stop.timeMs: 10 ms is shorter than the ramp alone, 50 ms from 100 mm/s at limits.deceleration; measure it, or correct the limit")]
    [InlineData("axes[0].stop = { \"velocity\": 100, \"timeMs\": 90 }", "axes[0].stop.distance: is missing: way from trip to rest")]
    [InlineData("interlocks[0].stopCategory = 3", "interlocks[0].stopCategory: 3 must be 0 to 2 (IEC 60204-1)")]
    [InlineData("interlocks[0].tripDelayMs = 10", "interlocks[0].tripDelayMs: emergency stops and guards act at once; take the delay out")]
    [InlineData("interlocks[1].tripDelayMs = 10", "interlocks[1].tripDelayMs: emergency stops and guards act at once; take the delay out")]
    [InlineData("interlocks[2].tripDelayMs = -10", "interlocks[2].tripDelayMs: -10 must be 0 to 60000 ms")]
    [InlineData("interlocks[1].discrepancyMs = 100", "interlocks[1].discrepancyMs: compares two channels, but there is 1 input; take it out or name both")]
    [InlineData("interlocks[0].inputs = [\"tray.input1\", \"gantry.input2\"]\ninterlocks[0].discrepancyMs = 79", "interlocks[0].discrepancyMs: 79 ms is too short for channels on two devices, which are read up to a cycle apart; at least 2 cycles, 80 ms")]
    [InlineData("interlocks[0].inputs = [\"tray.input1\", \"tray.input1\"]", "interlocks[0].inputs[1]: \"tray.input1\" is listed twice; one contact can't be two channels")]
    [InlineData("interlocks[1].inputs = []", "interlocks[1].inputs: is empty; an interlock watches at least one input")]
    [InlineData("interlocks[1].inputs = [\"gantry.input9\"]", "interlocks[1].inputs[0]: \"gantry.input9\": drive \"Reference drive\" has no input \"input9\"; did you mean \"input1\"?")]
    [InlineData("interlocks[1].inputs = [\"gantri.input1\"]", "interlocks[1].inputs[0]: \"gantri.input1\": no axis \"gantri\"; did you mean \"gantry\"?")]
    [InlineData("interlocks[1].inputs = [\"input1\"]", "interlocks[1].inputs[0]: \"input1\" is no input; AXIS.NAME, file:PATH, gpio:CHIP-LABEL/LINE or module:NAME/BIT is expected")]
    [InlineData("interlocks[1].inputs = [\"file:\"]", "interlocks[1].inputs[0]: \"file:\" names no file; file:PATH is expected")]
    [InlineData("interlocks[1].inputs = [\"gpio:chip/1024\"]", "interlocks[1].inputs[0]: \"gpio:chip/1024\": a GPIO line is numbered 0 to 1023")]
    [InlineData("interlocks[1].inputs = [\"gpio:chip\"]", "interlocks[1].inputs[0]: \"gpio:chip\" is no GPIO line; gpio:CHIP-LABEL/LINE is expected, such as \"gpio:soc-gpio/17\"")]
    [InlineData("interlocks[1].axes = [\"gantry\", \"dipper\"]", "interlocks[1].axes[1]: no axis \"dipper\"; did you mean \"dibber\"?")]
    [InlineData("interlocks[1].axes = [\"gantry\", \"gantry\"]", "interlocks[1].axes[1]: axis \"gantry\" is listed twice")]
    [InlineData("interlocks[1].axes = []", "interlocks[1].axes: is empty; an interlock stops at least one axis")]
    [InlineData("interlocks[1].axes = \"gantry\"", "interlocks[1].axes: \"all\" or an array of axis names is expected, found the text \"gantry\"")]
    [InlineData("interlocks[1].resetInput -", "interlocks[1].resetInput: is missing: emergency stops and guards are reset by a button wired at the machine, never from afar")]
    [InlineData("interlocks[1].resetInput = \"gantry.input1\"", "interlocks[1].resetInput: \"gantry.input1\" is also an input of this interlock; the reset button is a contact of its own")]
    [InlineData("interlocks[1].resetInput = \"tray.input7\"", "interlocks[1].resetInput: \"tray.input7\": drive \"Reference drive\" has no input \"input7\"; did you mean \"input1\"?")]
    [InlineData("interlocks[1].staleMs = 79", "interlocks[1].staleMs: 79 ms is too short: the inputs are read every 40 ms; at least 2 cycles, 80 ms")]
    [InlineData("interlocks[1].name = \"vacuum\"", "interlocks[2].name: interlock \"vacuum\" appears twice; first in line 1")]
    [InlineData("interlocks[1].kind = \"door\"", "interlocks[1].kind: \"door\" is none of \"emergencyStop\", \"guard\", \"process\"")]
    [InlineData("axes[0].heating = 30", "axes[0].heating: an object is expected, found the number 30")]
    [InlineData("axes[0].heating = {}", "axes[0].heating.timeConstantS: is missing: the motor's thermal time constant, from its data sheet")]
    [InlineData("axes[0].heating = { \"timeConstantS\": 0 }", "axes[0].heating.timeConstantS: 0 must be above 0 and at most 36000 s")]
    [InlineData("axes[0].heating = { \"timeConstantS\": 30, \"continuousTorque\": 0 }", "axes[0].heating.continuousTorque: 0 must be above 0 and at most 500 % of rated")]
    [InlineData("axes[0].heating = { \"timeConstantS\": 30, \"warnAt\": 101 }", "axes[0].heating.warnAt: 101 must be above 0 and at most 100 % of the trip value")]
    [InlineData("axes[0].heating = { \"timeConstant\": 30 }", "axes[0].heating.timeConstant: unknown member; did you mean \"timeConstantS\"?")]
    public void Read_OneThingWrong_IsTheOneError(string edits, string expected)
    {
        var result = Read(edits);

        Assert.Equal([expected], result.Errors.Select(error => $"{error.Path}: {error.Message}"));
        Assert.Null(result.Value);
    }

    [Theory]
    [InlineData("ports[0].gap = { \"us\": 300 }")]
    [InlineData("ports[0].gap = \"proportional\"")]
    [InlineData("ports[0].baud = 250000")]
    [InlineData("$schema = \"machine.schema.json\"")]
    [InlineData("axes[0].address = 247")]
    [InlineData("axes[0].homing.method = 37\naxes[0].homing.fast -\naxes[0].homing.slow -")]
    [InlineData("axes[0].homing.method = -3")]
    [InlineData("axes[0].homing -\naxes[0].reference = \"absolute\"")]
    [InlineData("axes[0].homing -\naxes[0].reference = \"none\"")]
    [InlineData("axes[0].gravityLoaded -")]
    [InlineData("axes[0].communicationTimeoutMs = 195")]
    [InlineData("ports[0].retries = 0\nports[0].responseTimeoutMs = 5\naxes[0].communicationTimeoutMs = 170")]
    [InlineData("axes[0].stopBudgetMs = 485")]
    [InlineData("interlocks[1].axes = [\"dibber\"]\ninterlocks[1].offDelayMs = 301")]
    [InlineData("interlocks[1].offDelayMs = 260\ninterlocks[1].stopCategory = 0")]
    [InlineData("axes[0].homing.offset = -2")]
    [InlineData("axes[3].reference = \"incremental\"\naxes[3].homing = { \"method\": 33, \"fast\": 90, \"slow\": 9 }")]
    [InlineData("interlocks -")]
    [InlineData("interlocks[0].stopCategory = 0")]
    [InlineData("interlocks[1].stopCategory = 2")]
    [InlineData("interlocks[1].tripDelayMs = 0")]
    [InlineData("interlocks[1].inputs = [\"gantry.input1\", \"gantry.input2\", \"drum.input2\"]")]
    [InlineData("interlocks[2].resetInput = \"drum.input3\"")]
    [InlineData("interlocks[2].inputs = [\"file:vacuum\"]")]
    public void Read_UnusualButGood_IsAccepted(string edits) => Assert.Empty(Read(edits).Errors);

    [Fact]
    public void Read_MembersLeftOut_HaveTheDocumentedDefaults()
    {
        var machine = Read(
            """
            ports[0].parity -
            ports[0].stopBits -
            ports[0].gap -
            ports[0].responseTimeoutMs -
            ports[0].retries -
            axes[0].inPosition -
            axes[0].followingError -
            axes[0].torque = { "moving": 120, "contact": 30 }
            axes[0].homing.offset -
            axes[0].homing.timeoutMs -
            axes[0].homing.order -
            axes[0].reference -
            axes[0].communicationTimeoutMs -
            axes[0].recovery -
            """).Value!;

        // Two stop bits without parity: MODBUS over Serial Line V1.02, 2.5.1 (read in the primary text).
        var port = machine.Ports[0];
        Assert.Equal((ParityKind.None, 2, GapKind.Standard, 20.0, 2), (port.Parity, port.StopBits, port.Gap.Kind, port.ResponseTimeout.TotalMilliseconds, port.Retries));
        var axis = machine.Axes[0];
        Assert.Equal(new InPositionDefinition(0.02, TimeSpan.FromMilliseconds(20)), axis.InPosition);
        Assert.Null(axis.FollowingError);
        Assert.Equal(new TorqueDefinition(120, 120, 120, 30, 120), axis.Torque);
        Assert.Equal(new HomingDefinition(17, 40, 5, 0, TimeSpan.FromSeconds(30), 1), axis.Homing);
        Assert.Equal(ReferenceKind.Incremental, axis.Reference);
        Assert.Equal(TimeSpan.FromMilliseconds(250), axis.CommunicationTimeout);
        Assert.Empty(axis.Recovery);
    }

    [Fact]
    public void Read_Recovery_EveryMemberArrives()
    {
        var recovery = Samples.Machine(Samples.Example("everything.json")).Axes[0].Recovery;

        Assert.Equal(new BackOffDefinition(TimeSpan.FromMilliseconds(500), 3, TimeSpan.FromSeconds(20)), recovery[0].BackOff);
        Assert.Equal(RecoveryDefinition.DefaultSpeedPercent, recovery[0].SpeedPercent);
        Assert.Equal((BackOffDefinition.Default, 20), (recovery[1].BackOff, recovery[1].SpeedPercent));
        Assert.Equal([500, 1500, 4500, 13_500, 20_000, 20_000], Enumerable.Range(0, 6).Select(made => recovery[0].BackOff.Before(made).TotalMilliseconds));
    }

    [Fact]
    public void Read_LineQuality_EveryMemberArrivesOrHasItsDefault()
    {
        var port = Read("ports[0].rs485 = { \"send\": \"rtsLow\", \"delayBeforeMs\": 1, \"delayAfterMs\": 3 }\nports[0].errorRate = { \"warningPercent\": 20 }").Value!.Ports[0];
        Assert.Equal(new Rs485Definition(false, TimeSpan.FromMilliseconds(1), TimeSpan.FromMilliseconds(3)), port.Rs485);
        Assert.Equal(new ErrorRateDefinition(1000, 20, 40), port.ErrorRate);
        Assert.Equal((200, 400), (port.ErrorRate.WarningCount, port.ErrorRate.FaultCount));

        var usual = Read("ports[0].retries -").Value!.Ports[0];
        Assert.Null(usual.Rs485);
        Assert.Equal(new ErrorRateDefinition(1000, 2, 25), usual.ErrorRate);
    }

    [Fact]
    public void Read_DelayBeforeSending_IsPartOfTheLinesBudget()
    {
        // Four axes, one request each, a millisecond more before each.
        var without = Supervisor.Configuration.Budget.LineBudget.Of(Read("ports[0].retries -").Value!)[0];
        var with = Supervisor.Configuration.Budget.LineBudget.Of(Read("ports[0].rs485 = { \"send\": \"rtsHigh\", \"delayBeforeMs\": 1 }").Value!)[0];
        Assert.Equal(4, without.Requests);
        Assert.Equal(TimeSpan.FromMilliseconds(4), with.Reached - without.Reached);
    }

    [Fact]
    public void Read_ParityGivenStopBitsLeftOut_IsOneStopBit()
    {
        var port = Read("ports[0].parity = \"even\"\nports[0].stopBits -").Value!.Ports[0];

        Assert.Equal((ParityKind.Even, 1), (port.Parity, port.StopBits));
    }

    [Fact]
    public void Read_FastPort_InputsAreStaleNotBeforeATenthOfASecond()
    {
        var machine = Read("ports[0].cycleMs = 20\nports[0].responseTimeoutMs = 5").Value!;

        Assert.Equal(TimeSpan.FromMilliseconds(100), machine.Interlocks[0].StaleAfter);
    }

    [Fact]
    public void Read_StoppingTorqueLeftOut_IsNeverBelowRated()
    {
        Assert.Equal(100, Read("axes[0].torque = { \"moving\": 40 }").Value!.Axes[0].Torque!.Stopping);
    }

    [Fact]
    public void Read_FileInput_IsBesideTheMachineFile()
    {
        using var folder = new TestFolder();
        var input = Read("interlocks[2].inputs = [\"file:in/vacuum\"]", folder).Value!.Interlocks[2].Inputs[0];

        Assert.Equal(new InputReference("file:in/vacuum", InputSource.File, -1, null, folder.At("in/vacuum")), input);
    }

    [Fact]
    public void Read_RelativeDevice_IsBesideTheMachineFile()
    {
        using var folder = new TestFolder();

        Assert.Equal(folder.At("line-a"), Read("ports[0].device = \"line-a\"", folder).Value!.Ports[0].Device);
    }

    [Fact]
    public void Read_SixtyFiveAxes_IsRefusedAtTheFirstTooMany()
    {
        var axes = Enumerable.Range(1, 65).Select(i =>
            $$"""axes[{{i - 1}}] = { "name": "a{{i}}", "port": "line-a", "address": {{i}}, "definition": "reference.drive.json", "unit": "mm", "countsPerUnit": 1, "endless": { "period": 10000 }, "limits": { "velocity": 1, "acceleration": 1, "deceleration": 1 }, "reference": "none" }""");
        var result = Read("interlocks -\n" + string.Join('\n', axes));

        Assert.Equal(["axes[64]: is number 65 of 65; at most 64 axes are allowed"], result.Errors.Select(error => $"{error.Path}: {error.Message}"));
    }

    [Fact]
    public void Read_TwentyOneGroups_IsRefusedAtTheFirstTooMany()
    {
        var axes = Enumerable.Range(1, 21).Select(i =>
            $$"""axes[{{i - 1}}] = { "name": "a{{i}}", "port": "line-a", "address": {{i}}, "definition": "reference.drive.json", "unit": "mm", "countsPerUnit": 1, "endless": { "period": 10000 }, "limits": { "velocity": 1, "acceleration": 1, "deceleration": 1 }, "reference": "none", "group": "g{{i}}" }""");
        var result = Read("interlocks -\n" + string.Join('\n', axes));

        Assert.Equal(["axes[20].group: \"g21\" is group number 21; at most 20 groups are allowed"], result.Errors.Select(error => $"{error.Path}: {error.Message}"));
    }

    [Fact]
    public void Read_FortyOneInterlocks_IsRefusedAtTheFirstTooMany()
    {
        var interlocks = Enumerable.Range(0, 41).Select(i =>
            $$"""interlocks[{{i}}] = { "name": "i{{i}}", "kind": "process", "inputs": ["tray.input1"], "stopCategory": 1, "axes": "all" }""");
        var result = Read(string.Join('\n', interlocks));

        Assert.Equal(["interlocks[40]: is number 41 of 41; at most 40 interlocks are allowed"], result.Errors.Select(error => $"{error.Path}: {error.Message}"));
    }

    private static FileResult<MachineDefinition> Read(string edits)
    {
        using var folder = new TestFolder();
        return Read(edits, folder);
    }

    private static FileResult<MachineDefinition> Read(string edits, TestFolder folder)
    {
        File.Copy(Samples.Example("reference.drive.json"), folder.At("reference.drive.json"));
        return MachineFile.Read(folder.Write("machine.json", EditedJson.Apply(Samples.Example("machine.json"), edits)));
    }
}
