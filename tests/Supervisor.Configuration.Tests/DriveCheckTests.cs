using Supervisor.Configuration.Drives;

namespace Supervisor.Configuration.Tests;

/// <summary>Every check of a drive definition: an example with one thing wrong gives exactly that one error.</summary>
public sealed class DriveCheckTests
{
    private const string FaultWords =
        "\"driveFault\", \"overCurrent\", \"shortCircuit\", \"overVoltage\", \"underVoltage\", \"overTemperature\", \"encoder\", \"motorBlocked\", "
        + "\"driveFollowingError\", \"brake\", \"driveCommunicationTimeout\", \"driveRestarted\", \"homingFailed\", \"torqueLostUnexpectedly\", \"softLimitPassed\"";

    [Theory]
    [InlineData("name = 1", "name: a text is expected, found the number 1")]
    [InlineData("protocol = \"modbusTcp\"", "protocol: \"modbusTcp\" is none of \"modbusRtu\"; did you mean \"modbusRtu\"?")]
    [InlineData("wire -", "wire: is missing: functions and sizes of requests the drive serves")]
    [InlineData("wire.read.function = 1", "wire.read.function: 1 must be 3 to 4 (3 holding, 4 input registers)")]
    // 125, 123: MODBUS Application Protocol V1.1b3, section 6 (read in the primary text).
    [InlineData("wire.read.maxRegisters = 126", "wire.read.maxRegisters: 126 must be 1 to 125 registers")]
    [InlineData("wire.write.maxRegisters = 124", "wire.write.maxRegisters: 124 must be 1 to 123 registers")]
    [InlineData("wire.write.function = 5", "wire.write.function: 5 is no function that writes registers here; 6 (one register) or 16 is expected")]
    [InlineData("wire.readWrite.function = 22", "wire.readWrite.function: 22 must be 23 (write, then read)")]
    [InlineData("wire.wordOrder = \"low\"", "wire.wordOrder: \"low\" is none of \"highFirst\", \"lowFirst\"")]
    [InlineData("wire.firstRegister = 1", "feedback[0].register: 0 must be 1 to 65536 (from wire.firstRegister on)")]
    [InlineData("wire.turnaroundMs = -1", "wire.turnaroundMs: -1 must be 0 to 1000 ms")]
    [InlineData("wire.busyExceptions = [0]", "wire.busyExceptions[0]: 0 must be 1 to 255 (an exception code)")]
    [InlineData("wire.busyExceptions = [6, 6]", "wire.busyExceptions[1]: 6 is listed twice; first in line 1")]
    [InlineData("wire.broadcastStop = \"no\"", "wire.broadcastStop: true or false is expected, found the text \"no\"")]
    [InlineData("states = \"cia403\"", "states: \"cia403\" is not \"cia402\"; a drive without CiA 402 words names its bits in an object")]
    [InlineData("states = 402", "states: \"cia402\" or an object is expected, found the number 402")]
    [InlineData("commands = {}", "commands: a drive with CiA 402 words is commanded by its controlword; take \"commands\" out")]
    [InlineData("feedback[0].name = \"statuswort\"", "feedback: field \"statusword\" is missing: CiA 402 object 6041h; is \"statuswort\" meant to be it?")]
    [InlineData("feedback[1] -", "feedback: field \"position\" is missing: the actual position; without it limits, arrival and standstill can't be watched")]
    [InlineData("command[0] -", "command: field \"controlword\" is missing: CiA 402 object 6040h")]
    [InlineData("command[1] -", "command: field \"mode\" is missing: CiA 402 object 6060h")]
    [InlineData("command[2] -", "command: field \"targetPosition\" is missing: where to move")]
    [InlineData("feedback[2].name = \"torque\"", "feedback[3].name: field \"torque\" appears twice; first in line 1")]
    [InlineData("feedback[2].name = \"actual velocity\"", "feedback[2].name: \"actual velocity\" must not contain ' '")]
    [InlineData("feedback[2].register = 2", "feedback[2].register: \"velocity\" (registers 2 to 3) overlaps \"position\" (registers 1 to 2) in line 1")]
    [InlineData("feedback[4].register = 5", "feedback[4].register: \"errorCode\" (register 5) overlaps \"torque\" (register 5) in line 1")]
    [InlineData("command[3].register = 67", "command[3].register: \"profileVelocity\" (registers 67 to 68) overlaps \"targetPosition\" (registers 66 to 67) in line 1")]
    [InlineData("parameters[0].register = 74", "parameters[0].register: \"communicationTimeout\" (register 74) overlaps \"torqueLimit\" (register 74) in line 1")]
    [InlineData("feedback[4].register = 65536", "feedback[4].register: 65536 must be 0 to 65535 (from wire.firstRegister on)")]
    [InlineData("feedback[2].register = 65535", "feedback[2].register: 65535 must be 0 to 65534 (from wire.firstRegister on)")]
    [InlineData("feedback[4].register = -1", "feedback[4].register: -1 must be 0 to 65535 (from wire.firstRegister on)")]
    [InlineData("feedback[3].type = \"i16\"", "feedback[3].type: \"i16\" is none of \"u16\", \"s16\", \"u32\", \"s32\"; did you mean \"u16\"?")]
    [InlineData("feedback[3].scale = 0", "feedback[3].scale: 0 would make every value 0; give what one step of the register is worth")]
    [InlineData("feedback[3].access = \"write\"", "feedback[3].access: a feedback field is read; \"write\" can't be")]
    [InlineData("command[3].access = \"read\"", "command[3].access: a command field is written; \"read\" can't be")]
    [InlineData("parameters[1].unit = \"s\"", "parameters[1].unit: \"s\": this time is read in ms; give unit \"ms\" and let scale convert")]
    [InlineData("parameters[2].acess = \"read\"", "parameters[2].acess: unknown member; did you mean \"access\"?")]
    [InlineData("inputs.input1 = \"digitalInput.0\"", "inputs.input1: no feedback field \"digitalInput\"; did you mean \"digitalInputs\"?")]
    [InlineData("inputs.input1 = \"digitalInputs.16\"", "inputs.input1: bit 16 is outside field \"digitalInputs\", whose bits are 0 to 15")]
    [InlineData("inputs.input1 = \"position.32\"", "inputs.input1: bit 32 is outside field \"position\", whose bits are 0 to 31")]
    [InlineData("inputs.input1 = \"digitalInputs\"", "inputs.input1: \"digitalInputs\" names no bit; FIELD.BIT is expected, such as \"status.3\"")]
    [InlineData("inputs.input1 = \"digitalInputs.-1\"", "inputs.input1: \"digitalInputs.-1\" names no bit; FIELD.BIT is expected, such as \"status.3\"")]
    [InlineData("inputs.input1 = \"digitalInputs.1 rising\"", "inputs.input1: \"digitalInputs.1 rising\": this bit is a level; take \"rising\" off")]
    [InlineData("outputs = { \"o\": \"controlword.12\" }", "outputs.o: \"controlword\" commands the axis; an output can't be a bit of it")]
    [InlineData("outputs = { \"o\": \"digitalInputs.0\" }", "outputs.o: no command field \"digitalInputs\"; known: \"controlword\", \"mode\", \"targetPosition\", \"profileVelocity\", \"profileAcceleration\", \"profileDeceleration\", \"torqueLimit\"")]
    [InlineData("communicationTimeout.fedBy = \"write\"", "communicationTimeout.fedBy: only writes feed the time-out, but nothing is written while nothing changes; give refreshMs above 0")]
    [InlineData("communicationTimeout.reaction -", "communicationTimeout.reaction: is missing: what the drive does when the time ran out")]
    [InlineData("refreshMs = -1", "refreshMs: -1 must be 0 to 60000 ms")]
    [InlineData("faults = {}", "faults: an array is expected, found an object")]
    [InlineData("faults = [ { \"fault\": \"encoder\" } ]", "faults[0].code: is missing: the drive's number")]
    [InlineData("faults = [ { \"code\": 0, \"fault\": \"encoder\" } ]", "faults[0].code: 0 must be 1 to 65535 (0 means no fault)")]
    [InlineData("faults = [ { \"code\": 65536, \"fault\": \"encoder\" } ]", "faults[0].code: 65536 must be 1 to 65535 (0 means no fault)")]
    [InlineData("faults = [ { \"code\": 1.5, \"fault\": \"encoder\" } ]", "faults[0].code: 1.5 must be a whole number")]
    [InlineData("faults = [ { \"code\": 7 } ]", "faults[0].fault: is missing: what it is, one of " + FaultWords)]
    [InlineData("faults = [ { \"code\": 7, \"fault\": \"overtemperature\" } ]", "faults[0].fault: \"overtemperature\" is none of " + FaultWords + "; did you mean \"overTemperature\"?")]
    [InlineData("faults = [ { \"code\": 7, \"fault\": \"stopFailed\" } ]", "faults[0].fault: \"stopFailed\" is none of " + FaultWords)]
    [InlineData("faults = [ { \"code\": 7, \"fault\": \"encoder\", \"clear\": \"never\" } ]", "faults[0].clear: \"never\" is none of \"reset\", \"powerCycle\"")]
    [InlineData("faults = [ { \"code\": 7, \"fault\": \"encoder\", \"text\": \"\" } ]", "faults[0].text: must not be empty")]
    [InlineData("faults = [ { \"code\": 7, \"fault\": \"encoder\" }, { \"code\": 7, \"fault\": \"brake\" } ]", "faults[1].code: fault 7 appears twice; first in line 1")]
    [InlineData("faults = [ { \"code\": 7, \"fault\": \"encoder\" } ]\nfeedback[4] -", "faults: there is no feedback field \"errorCode\" in which these numbers could be read")]
    public void Read_Cia402DriveOneThingWrong_IsTheOneError(string edits, string expected) =>
        Assert.Equal([expected], Errors("reference.drive.json", edits));

    [Theory]
    [InlineData("states.powered -", "states.powered: is missing: the bit that proves torque; without it no axis can become ready")]
    [InlineData("states.fault -", "states.fault: is missing: the bit that tells a fault; without it none would be seen")]
    [InlineData("states.fault = \"command.0\"", "states.fault: no feedback field \"command\"; known: \"status\", \"position\", \"velocity\"")]
    [InlineData("states.powred = \"status.0\"\nstates.powered -", "states.powred: unknown member; did you mean \"powered\"?")]
    [InlineData("commands -", "commands: is missing: the bits that command a drive without CiA 402 words")]
    [InlineData("commands.stop -", "commands.stop: is missing: the bit that stops; without it no axis can be stopped in order")]
    [InlineData("commands.power = \"command.0 rising\"", "commands.power: \"command.0 rising\": this bit is a level; take \"rising\" off")]
    [InlineData("commands.stop = \"command.1\"", "commands.stop: bit \"command.1\" already commands something in line 1")]
    [InlineData("outputs = { \"o\": \"command.2\" }", "outputs.o: bit \"command.2\" is already used by a command or another output")]
    [InlineData("outputs = { \"o\": \"command.8\", \"p\": \"command.8\" }", "outputs.p: bit \"command.8\" is already used by a command or another output")]
    [InlineData("wire.write = { \"function\": 6, \"maxRegisters\": 2 }", "wire.write.maxRegisters: function 6 writes one register, not 2; give 1, or function 16")]
    [InlineData("wire.write = { \"function\": 6 }\ncommand[2] -", "command[1].type: takes 2 registers, but wire.write.maxRegisters is 1: it could not be written in one piece; give wire.write.split if the drive takes it as a whole when its control register is written")]
    [InlineData("wire.read.maxRegisters = 1\nfeedback[2] -", "feedback[1].type: takes 2 registers, but wire.read.maxRegisters is 1: it could not be read in one piece")]
    [InlineData("wire.write = { \"function\": 16, \"split\": \"highThenLow\" }", "wire.write.split: function 16 writes both words of a value in one frame; take \"split\" out")]
    [InlineData("wire.write = { \"function\": 6, \"split\": \"highThenLow\" }\ncommand[0].type = \"u32\"\ncommand[0].register = 50", "command[0].type: \"command\" commands the axis and must be written in one frame, but function 6 writes one register; declare the register with its bits as a field of 16 bits")]
    [InlineData("rampTimes = { \"toSpeed\": 1000 }", "rampTimes: no command field \"accelerationTime\" or \"decelerationTime\" is declared; take it out")]
    [InlineData("command[3] = { \"name\": \"accelerationTime\", \"register\": 180, \"type\": \"u16\" }", "command: declares a ramp by its time, but not the speed it leads to; give rampTimes.toSpeed")]
    [InlineData("command[3] = { \"name\": \"accelerationTime\", \"register\": 180, \"type\": \"u16\" }\nrampTimes = { \"toSpeed\": 0 }", "rampTimes.toSpeed: 0 must be above 0 counts/s")]
    [InlineData("feedback[0].sentinels = [1]", "feedback[0].sentinels: only the feedback field \"position\" may be unknown; take it out")]
    [InlineData("feedback[1].sentinels = [\"0x80000000\"]\nfeedback[2] -", "feedback[1].sentinels: a drive that may not know its position must tell its velocity, or rest could not be seen; declare the feedback field \"velocity\"")]
    [InlineData("wire.byteOrder = \"low\"", "wire.byteOrder: \"low\" is none of \"highFirst\", \"lowFirst\"")]
    [InlineData("command[1].kind = \"input\"", "command[1].kind: input registers can't be written; give \"holding\", or access \"read\" to a parameter")]
    [InlineData("feedback[0].mask = 65536", "feedback[0].mask: 65536 must have bits, and only such as a field of type \"u16\" has: at most 0xFFFF")]
    [InlineData("feedback[0].mask = \"0x0F0F\"", "feedback[0].mask: 0x0F0F has a gap; one run of bits is expected, such as 0x0FF0")]
    [InlineData("feedback[0].mask = \"F\"", "feedback[0].mask: a whole number from 0 to 4294967295, or a text such as \"0x0FFF\" is expected, found the text \"F\"")]
    [InlineData("wire.firstInputRegister = 30001\nfeedback[0].kind = \"input\"", "feedback[0].register: 200 must be 30001 to 95536 (from wire.firstInputRegister on)")]
    [InlineData("unlock = { \"writes\": [ { \"register\": 900, \"value\": 7 } ], \"stopWhileLocked\": false }", "unlock.stopWhileLocked: must be true: a drive that takes no stop while it is locked could not be stopped before it is met")]
    [InlineData("unlock = { \"writes\": [ { \"register\": 900, \"value\": 70000 } ], \"stopWhileLocked\": true }", "unlock.writes[0].value: 70000 must be 0 to 65535")]
    [InlineData("acknowledges = { \"go\": \"status.40\" }", "acknowledges.go: bit 40 is outside field \"status\", whose bits are 0 to 15")]
    [InlineData("acknowledges = { \"go\": \"status.5\" }\ncommands.go = \"command.1\"", "acknowledges.go: commands.go is a level, but what is acknowledged is an edge; write \"command.1 rising\" there")]
    [InlineData("acknowledges = { \"clearFault\": \"status.5\" }\ncommands.clearFault -", "acknowledges.clearFault: there is no commands.clearFault that could be acknowledged")]
    [InlineData("identification = { \"vendor\": \"Schöne\" }", "identification.vendor: must be at most 244 letters of ASCII without blanks at its ends, as the device tells it")]
    [InlineData("shortestStartMs = 0", "shortestStartMs: 0 must be above 0 and at most 60000 ms")]
    [InlineData("firstStop = \"never\"", "firstStop: \"never\" is none of \"blind\", \"afterRead\"")]
    public void Read_DriveWithBitsOneThingWrong_IsTheOneError(string edits, string expected) =>
        Assert.Equal([expected], Errors("bits.drive.json", edits));

    [Theory]
    [InlineData("reference.drive.json", "wire.readWrite -")]
    [InlineData("reference.drive.json", "wire.read.function = 4")]
    [InlineData("reference.drive.json", "wire.firstRegister = 40001\nfeedback = [{ \"name\": \"statusword\", \"register\": 40001, \"type\": \"u16\" }, { \"name\": \"position\", \"register\": 40002, \"type\": \"s32\" }]\ncommand = [{ \"name\": \"controlword\", \"register\": 40100, \"type\": \"u16\" }, { \"name\": \"mode\", \"register\": 40101, \"type\": \"u16\" }, { \"name\": \"targetPosition\", \"register\": 40102, \"type\": \"s32\" }]\nparameters -\ninputs -")]
    [InlineData("reference.drive.json", "feedback[6] = { \"name\": \"commanded\", \"register\": 66, \"type\": \"s32\" }")]
    [InlineData("reference.drive.json", "feedback[3].scale = -0.1")]
    [InlineData("reference.drive.json", "communicationTimeout -")]
    [InlineData("reference.drive.json", "parameters -")]
    [InlineData("reference.drive.json", "communicationTimeout.fedBy = \"write\"\nrefreshMs = 50")]
    [InlineData("bits.drive.json", "wire.write = { \"function\": 6, \"split\": \"lowThenHigh\" }\nwire.byteOrder = \"lowFirst\"")]
    [InlineData("bits.drive.json", "wire.firstInputRegister = 100\nfeedback[0].kind = \"input\"\nfeedback[0].mask = \"0x00FF\"")]
    [InlineData("bits.drive.json", "feedback[1].sentinels = [\"0x80000000\", 2147483647]")]
    [InlineData("bits.drive.json", "outputs = { \"o\": \"command.8\" }")]
    [InlineData("bits.drive.json", "unlock = { \"writes\": [ { \"register\": 900, \"value\": 7 }, { \"register\": 900, \"type\": \"u32\", \"value\": 9 } ], \"unlocked\": \"status.9\", \"stopWhileLocked\": true }")]
    [InlineData("bits.drive.json", "acknowledges = { \"go\": \"status.5\", \"clearFault\": \"status.6\" }")]
    [InlineData("bits.drive.json", "firstStop = \"afterRead\"")]
    [InlineData("reference.drive.json", "firstStop = \"blind\"")]
    [InlineData("bits.drive.json", "commands.findReference -\ncommands.clearFault -\nstates.moving -\nstates.inPosition -\nstates.referenced -")]
    public void Read_UnusualButGood_IsAccepted(string example, string edits) => Assert.Empty(Errors(example, edits));

    [Fact]
    public void Read_FieldsOutOfOrder_AreHandedOutByRegister()
    {
        using var folder = new TestFolder();
        var text = EditedJson.Apply(Samples.Example("reference.drive.json"), "feedback[4].register = 300");
        var drive = DriveDefinitionFile.Read(folder.Write("a.drive.json", text)).Value!;

        Assert.Equal(["statusword", "position", "velocity", "torque", "digitalInputs", "errorCode"], drive.Feedback.Select(field => field.Name));
    }

    [Fact]
    public void Read_WireWithoutSizes_HasTheProtocolsLimits()
    {
        using var folder = new TestFolder();
        var text = EditedJson.Apply(Samples.Example("reference.drive.json"), "wire = { \"read\": {}, \"write\": {} }");
        var wire = DriveDefinitionFile.Read(folder.Write("a.drive.json", text)).Value!.Wire;

        Assert.Equal((3, 125, 16, 123, false), (wire.ReadFunction, wire.MaximumRead, wire.WriteFunction, wire.MaximumWrite, wire.HasReadWrite));
        Assert.Equal([6], wire.BusyExceptions);
    }

    private static string[] Errors(string example, string edits)
    {
        using var folder = new TestFolder();
        var result = DriveDefinitionFile.Read(folder.Write("a.drive.json", EditedJson.Apply(Samples.Example(example), edits)));
        Assert.Equal(result.Errors.Count == 0, result.IsGood);
        return [.. result.Errors.Select(error => $"{error.Path}: {error.Message}")];
    }
}
