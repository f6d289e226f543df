using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;

namespace Supervisor.Configuration.Tests;

/// <summary>Modules in a machine file: each thing that can be wrong with one, and how its bits lie.</summary>
public sealed class ModuleTests
{
    private const string Module =
        """modules = [ { "name": "io", "port": "line-a", "address": 20, "inputs": { "function": 2, "start": 8, "bits": 16, "names": { "door": 3 } }, "outputs": { "function": 15, "start": 0, "bits": 8 }, "communicationTimeout": { "register": 4096, "unitMs": 10, "timeoutMs": 500 } } ]""";

    [Theory]
    [InlineData("modules = {}", "modules: an array is expected, found an object")]
    [InlineData("modules[0].name = \"a/b\"", "modules[0].name: \"a/b\" must not contain '/'")]
    [InlineData("modules[0].name -", "modules[0].name: is missing: name of the module")]
    [InlineData("modules[1] = { \"name\": \"io\", \"port\": \"line-a\", \"address\": 21, \"inputs\": { \"function\": 2, \"start\": 0, \"bits\": 1 } }", "modules[1].name: module \"io\" appears twice; first in line 1")]
    [InlineData("modules[1] = { \"name\": \"b\", \"port\": \"line-a\", \"address\": 20, \"inputs\": { \"function\": 2, \"start\": 0, \"bits\": 1 } }", "modules[1].address: address 20 on port \"line-a\" is already used by the module in line 1")]
    [InlineData("modules[0].address = 3", "modules[0].address: address 3 on port \"line-a\" is already used by the axis \"dibber\"")]
    [InlineData("modules[0].address = 248", "modules[0].address: 248 must be 1 to 247 (0 is broadcast, 248 to 255 are reserved)")]
    [InlineData("modules[0].port = \"line-b\"", "modules[0].port: no port \"line-b\"; did you mean \"line-a\"?")]
    [InlineData("modules[0].pollMs = 39", "modules[0].pollMs: 39 ms is below the port's cycleMs 40 ms, in which everything is read once")]
    [InlineData("modules[0].staleMs = 79", "modules[0].staleMs: 79 ms is too short: the inputs are read every 40 ms; at least 2 readings, 80 ms")]
    [InlineData("modules[0].inputs -\nmodules[0].outputs -\nmodules[0].communicationTimeout -", "modules[0]: has neither inputs nor outputs: add what the module carries, or take it out")]
    [InlineData("modules[0].inputs.function = 5", "modules[0].inputs.function: 5 is no function for this; 1 (coils), 2 (discrete inputs), 3 (holding registers) or 4 (input registers) is expected")]
    [InlineData("modules[0].inputs.function -", "modules[0].inputs.function: is missing: the Modbus function: 1 (coils), 2 (discrete inputs), 3 (holding registers) or 4 (input registers)")]
    [InlineData("modules[0].inputs.start = 65536", "modules[0].inputs.start: 65536 must be 0 to 65535 (the address on the wire, from 0)")]
    [InlineData("modules[0].inputs.start = 65521", "modules[0].inputs.bits: 16 bits from 65521 on end beyond the last address 65535")]
    [InlineData("modules[0].inputs.bits = 2001", "modules[0].inputs.bits: 2001 must be 1 to 2000 bits")]
    [InlineData("modules[0].inputs.bits = 126\nmodules[0].inputs.function = 4\nmodules[0].inputs.bitsPerRegister = 1", "modules[0].inputs.bits: 126 bits take 126 registers; one request reads at most 125")]
    [InlineData("modules[0].inputs.bitOrder = \"lowFirst\"", "modules[0].inputs.bitOrder: says how bits lie in registers, but function 2 carries single bits; take it out")]
    [InlineData("modules[0].inputs.names.door = 16", "modules[0].inputs.names.door: 16 must be 0 to 15 (a bit, from 0)")]
    [InlineData("modules[0].inputs.names.lid = 3", "modules[0].inputs.names.lid: bit 3 is named twice; first in line 1")]
    [InlineData("modules[0].inputs.names = { \"7\": 3 }", "modules[0].inputs.names.7: a name of digits alone would read as the number of a bit; choose another")]
    [InlineData("modules[0].outputs.function = 3", "modules[0].outputs.function: 3 is no function for this; 5 (one coil), 15 (coils), 6 (one register), 16 (registers) or 22 (bits of one register) is expected")]
    [InlineData("modules[0].identification = { \"vendor\": \"\" }", "modules[0].identification.vendor: must not be empty")]
    [InlineData("modules[0].identification = { \"product\": \"a \" }", "modules[0].identification.product: must be at most 244 letters of ASCII without blanks at its ends, as the device tells it")]
    [InlineData("modules[0].identification = { \"revisions\": [] }", "modules[0].identification.revisions: lists none, so no device would do; list those that are accepted, or take it out")]
    [InlineData("modules[0].identification = { \"revisions\": [\"1\", \"1\"] }", "modules[0].identification.revisions[1]: \"1\" is listed twice; first in line 1")]
    [InlineData("modules[0].outputs.bits = 1969", "modules[0].outputs.bits: 1969 must be 1 to 1968 bits")]
    [InlineData("modules[0].outputs.readBack = \"no\"", "modules[0].outputs.readBack: \"no\" is unknown; \"none\", or { \"function\": …, \"start\": … } is expected")]
    [InlineData("modules[0].outputs.readBack = { \"function\": 3 }", "modules[0].outputs.readBack.function: function 15 writes single bits, but function 3 reads registers")]
    [InlineData("modules[0].outputs.readBack = { \"function\": 1, \"start\": 65530 }", "modules[0].outputs.readBack.start: 8 bits from 65530 on end beyond the last address 65535")]
    [InlineData("modules[0].inputs -\nmodules[0].communicationTimeout -\nmodules[0].outputs.readBack = \"none\"", "modules[0].outputs.readBack: nothing of the module could be read, so nobody would know whether it answers: give readBack, inputs or communicationTimeout")]
    [InlineData("modules[0].outputs -", "modules[0].communicationTimeout: says what becomes of outputs, but the module has none; take it out or add outputs")]
    [InlineData("modules[0].communicationTimeout.timeoutMs = 505", "modules[0].communicationTimeout.timeoutMs: 505 ms is no multiple of unitMs 10 ms: the module can't hold it")]
    [InlineData("modules[0].communicationTimeout.timeoutMs = 160", "modules[0].communicationTimeout.timeoutMs: 160 ms is too short: at least 3 readings, one every 40 ms, and 50 ms, 170 ms")]
    [InlineData("modules[0].communicationTimeout.unitMs = 0.005", "modules[0].communicationTimeout.timeoutMs: 500 ms is 100000 times unitMs 0.005 ms: a register holds at most 65535")]
    [InlineData("modules[0].communicationTimeout.reaction = \"of\"", "modules[0].communicationTimeout.reaction: \"of\" is none of \"off\", \"hold\"; did you mean \"off\"?")]
    [InlineData("modules[0].communicationTimeout.function = 5", "modules[0].communicationTimeout.function: 5 writes no holding register; 6 (one register) or 16 is expected")]
    [InlineData("modules[0].communicationTimeout.start = [ { \"register\": 1 } ]", "modules[0].communicationTimeout.start[0].value: is missing: what it must hold")]
    // Where its bits are used
    [InlineData("interlocks[2].inputs = [\"module:io\"]", "interlocks[2].inputs[0]: \"module:io\" is no bit of a module; module:NAME/BIT is expected, such as \"module:terminal/3\"")]
    [InlineData("interlocks[2].inputs = [\"module:oi/3\"]", "interlocks[2].inputs[0]: \"module:oi/3\": no module \"oi\"; did you mean \"io\"?")]
    [InlineData("interlocks[2].inputs = [\"module:io/16\"]", "interlocks[2].inputs[0]: \"module:io/16\": the module's inputs are 0 to 15")]
    [InlineData("interlocks[2].inputs = [\"module:io/dor\"]", "interlocks[2].inputs[0]: \"module:io/dor\": no input is named \"dor\"; did you mean \"door\"?")]
    [InlineData("modules[0].inputs -\ninterlocks[2].inputs = [\"module:io/1\"]", "interlocks[2].inputs[0]: \"module:io/1\": the module has no inputs")]
    [InlineData("modules -\ninterlocks[2].inputs = [\"module:io/1\"]", "interlocks[2].inputs[0]: \"module:io/1\": no module \"io\"; the file has none")]
    [InlineData("modules[0].pollMs = 200\nmodules[0].communicationTimeout.timeoutMs = 1000\ninterlocks[1].inputs = [\"module:io/1\"]\ninterlocks[1].staleMs = 399", "interlocks[1].staleMs: 399 ms is too short: the inputs are read every 200 ms; at least 2 cycles, 400 ms")]
    [InlineData("interlocks[0].inputs = [\"module:io/1\", \"tray.input1\"]\ninterlocks[0].discrepancyMs = 79", "interlocks[0].discrepancyMs: 79 ms is too short for channels on two devices, which are read up to a cycle apart; at least 2 cycles, 80 ms")]
    public void Read_OneThingWrong_IsToldThereAndNothingElse(string edits, string error) =>
        Assert.Equal([error], Read(edits).Errors.Select(each => $"{each.Path}: {each.Message}"));

    [Fact]
    public void Read_ModuleWithDefaults_IsReadEveryCycleAndReadBackWhereItIsWritten()
    {
        var module = Read("interlocks[1].inputs = [\"module:io/door\"]\ninterlocks[1].resetInput = \"module:io/4\"").Value!;

        var io = Assert.Single(module.Modules);
        Assert.Equal(("io", 0, (byte)20), (io.Name, io.Port, io.Address));
        Assert.Equal((TimeSpan.FromMilliseconds(40), TimeSpan.FromMilliseconds(200)), (io.Poll, io.StaleAfter));
        Assert.Equal(new ModuleReadBack(1, 0), io.Outputs!.ReadBack);
        Assert.Equal((TimeoutFeed.AnyFrame, ModuleReaction.Off, (byte)6), (io.CommunicationTimeout!.FedBy, io.AtLoss, io.CommunicationTimeout.WriteFunction));
        Assert.Equal([new ModuleSetting(4096, 50, true)], io.CommunicationTimeout.Writes);
        Assert.Equal((InputSource.Module, -1, new ModuleReference(0, 3)), Of(module.Interlocks[1].Inputs[0]));
        Assert.Equal((InputSource.Module, -1, new ModuleReference(0, 4)), Of(module.Interlocks[1].ResetInput!));
    }

    [Fact]
    public void Read_EverythingGiven_IsWhatTheFileSays()
    {
        var io = Samples.Machine(Samples.Example("everything.json")).Modules[0];

        // 41 ms at a cycle of 20.5 ms: every second cycle.
        Assert.Equal((41.0, 300.0, 1.5), (io.Poll.TotalMilliseconds, io.StaleAfter.TotalMilliseconds, io.Turnaround.TotalMilliseconds));
        Assert.Equal(new BitPacking(8, BitOrder.HighFirst, ByteOrder.LowFirst, WordOrder.HighFirst), io.Inputs!.Packing);
        Assert.Equal(new ModuleReadBack(3, 200), io.Outputs!.ReadBack);
        Assert.Equal([new ModuleSetting(4096, 1, true), new ModuleSetting(4097, 5, true), new ModuleSetting(4098, 255, false)], io.CommunicationTimeout!.Writes);
    }

    [Fact]
    public void Read_IdentificationThatCantBeToldInTime_IsRefusedAtThePortsTime()
    {
        // 8 of the head, 6 of three objects, 2 of the CRC and 240 letters: 256 characters of 10 bits at 115200 baud are 22.2 ms.
        var error = Assert.Single(Read($"modules[0].identification = {{ \"vendor\": \"{new string('x', 240)}\" }}\nports[0].responseTimeoutMs = 20").Errors);

        Assert.Equal("ports[0].responseTimeoutMs", error.Path);
        Assert.Equal("20 ms is too short: \"io\" needs at least 22.2 ms at 115200 baud to tell its identification; give a longer one, or a higher rate", error.Message);
    }

    [Fact]
    public void Read_ModulesThatCantBeReadAsOftenAsAsked_AreRefusedWithTheNumbers()
    {
        // 2000 bits: 8 and 255 characters of 10 bits at 9600 baud, 273.96 ms, and 3.5 characters.
        string File(string pollMs) =>
            $$"""
            ports[1] = { "name": "line-b", "device": "/dev/ttyS7", "baud": 9600, "parity": "none", "stopBits": 1, "cycleMs": 350, "responseTimeoutMs": 300 }
            modules[1] = { "name": "big", "port": "line-b", "address": 21, {{pollMs}} "inputs": { "function": 2, "start": 0, "bits": 2000 } }
            modules[2] = { "name": "other", "port": "line-b", "address": 22, {{pollMs}} "inputs": { "function": 2, "start": 0, "bits": 2000 } }
            """;

        var error = Assert.Single(Read(File("")).Errors);
        Assert.Equal("ports[1].cycleMs", error.Path);
        Assert.Equal(
            "its modules can't be read as often as their pollMs asks: that is 159 % of the line's time at 9600 baud (big 277.6 ms of every 350 ms, other 277.6 ms of every 350 ms); "
            + "give a longer pollMs, a higher rate, or another port to some modules",
            error.Message);
        Assert.Empty(Read(File("\"pollMs\": 700,")).Errors);
    }

    [Fact]
    public void Read_ModuleWhoseAnswerTakesLongerThanTheTimeout_IsRefused()
    {
        // 2000 bits: 255 characters of 10 bits at 115200 baud are 22.14 ms.
        var error = Assert.Single(Read("modules[0].inputs.bits = 2000\nports[0].responseTimeoutMs = 20\nports[0].cycleMs = 60\nmodules[0].communicationTimeout.timeoutMs = 1000").Errors);

        Assert.Equal("ports[0].responseTimeoutMs", error.Path);
        Assert.StartsWith("20 ms is too short: the longest answer of \"io\" has 255 bytes and takes 22.14 ms at 115200 baud", error.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Read_ReadBackNone_IsNone() => Assert.Null(Read("modules[0].outputs.readBack = \"none\"").Value!.Modules[0].Outputs!.ReadBack);

    [Fact]
    public void Read_NoTimeout_KeepsItsOutputsForEver() =>
        Assert.Equal(ModuleReaction.Hold, Read("modules[0].communicationTimeout -").Value!.Modules[0].AtLoss);

    [Fact]
    public void Read_PollBetweenCycles_IsRoundedUp() => Assert.Equal(80, Read("modules[0].pollMs = 50").Value!.Modules[0].Poll.TotalMilliseconds);

    [Fact]
    public void Read_SlowModule_InterlockIsStaleAfterFiveReadings() => Assert.Equal(
        1000, Read("modules[0].pollMs = 200\ninterlocks[1].inputs = [\"module:io/1\"]\nmodules[0].communicationTimeout.timeoutMs = 1000").Value!.Interlocks[1].StaleAfter.TotalMilliseconds);

    [Fact]
    public void Read_ThirtyThreeModules_IsRefusedAtTheFirstTooMany()
    {
        var modules = Enumerable.Range(1, 33).Select(i => $$"""{ "name": "m{{i}}", "port": "line-a", "address": {{100 + i}}, "inputs": { "function": 2, "start": 0, "bits": 1 } }""");

        Assert.Equal(
            ["modules[32]: is number 33 of 33; at most 32 modules are allowed"],
            Read($"modules = [ {string.Join(", ", modules)} ]").Errors.Select(error => $"{error.Path}: {error.Message}"));
    }

    [Theory]
    // Bit n of a register is worth 2 to the n; the first register of several holds the lowest bits unless said otherwise (by definition of the members).
    [InlineData(16, BitOrder.LowFirst, ByteOrder.HighFirst, WordOrder.LowFirst, 20, 3, 0, 3)]
    [InlineData(16, BitOrder.LowFirst, ByteOrder.HighFirst, WordOrder.LowFirst, 20, 17, 1, 1)]
    [InlineData(16, BitOrder.LowFirst, ByteOrder.HighFirst, WordOrder.HighFirst, 20, 17, 0, 1)]
    [InlineData(16, BitOrder.HighFirst, ByteOrder.HighFirst, WordOrder.LowFirst, 20, 0, 0, 15)]
    [InlineData(16, BitOrder.LowFirst, ByteOrder.LowFirst, WordOrder.LowFirst, 20, 0, 0, 8)]
    [InlineData(16, BitOrder.LowFirst, ByteOrder.LowFirst, WordOrder.LowFirst, 20, 9, 0, 1)]
    [InlineData(8, BitOrder.LowFirst, ByteOrder.HighFirst, WordOrder.LowFirst, 20, 9, 1, 1)]
    [InlineData(8, BitOrder.HighFirst, ByteOrder.LowFirst, WordOrder.HighFirst, 20, 19, 0, 12)]
    [InlineData(1, BitOrder.LowFirst, ByteOrder.HighFirst, WordOrder.LowFirst, 20, 19, 19, 0)]
    public void PlaceOf_Bit_IsRegisterAndBit(int perRegister, BitOrder bitOrder, ByteOrder byteOrder, WordOrder wordOrder, int bits, int bit, int register, int place) =>
        Assert.Equal((register, place), new BitPacking(perRegister, bitOrder, byteOrder, wordOrder).PlaceOf(bit, bits));

    private static (InputSource Source, int Axis, ModuleReference? Module) Of(InputReference input) => (input.Source, input.Axis, input.Module);

    private static FileResult<MachineDefinition> Read(string edits)
    {
        using var folder = new TestFolder();
        File.Copy(Samples.Example("reference.drive.json"), folder.At("reference.drive.json"));
        var withModule = folder.Write("with.json", EditedJson.Apply(Samples.Example("machine.json"), Module));
        return MachineFile.Read(folder.Write("machine.json", EditedJson.Apply(withModule, edits)));
    }
}
