using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Simulation.Drives;
using Supervisor.Simulation.Tests.Support;
using Supervisor.Simulation.Wires;

namespace Supervisor.Simulation.Tests.Wires;

public sealed class WireTests
{
    [Fact]
    public void Answer_ReplyTime_IsTurnaroundAndCharacters()
    {
        var line = new SimulatedLine(Definitions.Port with { Baud = 9600 }, [new SimulatedDrive(Definitions.Axis(Definitions.Bits()))]);
        var ask = new Transaction();
        ask.Read(3, 3, 200, 2);
        var now = TimeSpan.FromSeconds(5);
        int length = line.Answer(ask.RequestFrame, now, new byte[256], out var replyAt);
        Assert.Equal(9, length);

        // 9 characters of 10 bits at 9600 baud and 1 ms of turnaround (computed).
        Assert.Equal(9 * 10 / 9.6 + 1, (replyAt - now).TotalMilliseconds, 0.001);
    }

    [Fact]
    public void Broadcast_Write_ReachesAllAndIsNotAnswered()
    {
        var first = new SimulatedDrive(Definitions.Axis());
        var second = new SimulatedDrive(Definitions.Axis(name: "gantry", address: 4));
        var line = new SimulatedLine(Definitions.Port, [first, second]);
        line.Advance(TimeSpan.Zero);
        var ask = new Transaction();
        ask.WriteMultiple(0, 64, [0x06]);
        var now = TimeSpan.FromMilliseconds(10);
        Assert.Equal(0, line.Answer(ask.RequestFrame, now, new byte[256], out _));
        line.Advance(now + TimeSpan.FromMilliseconds(5));
        Assert.Equal("ReadyToSwitchOn", first.StateName);
        Assert.Equal("ReadyToSwitchOn", second.StateName);
    }

    [Fact]
    public void FaultyWire_SameSeed_SameBytesAndTimes()
    {
        var one = Trace(77);
        Assert.Equal(one, Trace(77));
        Assert.NotEqual(one, Trace(78));
    }

    [Fact]
    public void FaultyWire_EachFault_Happens()
    {
        string trace = Trace(5);
        Assert.Contains("silent", trace, StringComparison.Ordinal);
        Assert.Contains("good", trace, StringComparison.Ordinal);
        Assert.Contains("bad", trace, StringComparison.Ordinal);
        Assert.Contains("late", trace, StringComparison.Ordinal);
        Assert.Contains("long", trace, StringComparison.Ordinal);
        Assert.Contains("short", trace, StringComparison.Ordinal);
    }

    [Fact]
    public void FaultyWire_NoFaults_IsTheLine()
    {
        var line = new SimulatedLine(Definitions.Port, [new SimulatedDrive(Definitions.Axis())]);
        var wire = new FaultyWire(line, WireFaults.None, 1);
        var ask = new Transaction();
        ask.Read(3, 3, 0, 8);
        byte[] through = new byte[512];
        byte[] straight = new byte[256];
        int one = wire.Answer(ask.RequestFrame, TimeSpan.FromSeconds(1), through, out var replyAt);
        int two = line.Answer(ask.RequestFrame, TimeSpan.FromSeconds(1), straight, out var expected);
        Assert.Equal(two, one);
        Assert.Equal(expected, replyAt);
        Assert.Equal(straight[..two], through[..one]);
    }

    [Fact]
    public void SimulatedMachine_Inputs_InterlocksClosedButtonsReleased()
    {
        var words = Definitions.Words();
        InputReference Input(string name) => new("dibber." + name, InputSource.Drive, 0, words.Inputs[name], null);
        var interlock = new InterlockDefinition(
            "front guard", InterlockKind.Guard, [Input("input1")], null, 1, [0], Input("input3"), TimeSpan.Zero, TimeSpan.FromSeconds(1));
        var machine = new SimulatedMachine(new MachineDefinition("Tray seeder", [Definitions.Port], [Definitions.Axis(words)], [interlock], []));
        Assert.True(machine.Drives[0].Input("input1"));
        Assert.False(machine.Drives[0].Input("input3"));
        Assert.Same(machine.Drives[0], machine.Find("dibber"));
        Assert.Null(machine.Find("dipper"));
    }

    [Fact]
    public void Simulation_SameSeed_SameMotionToTheBit()
    {
        Assert.Equal(Motion(3), Motion(3));
        Assert.NotEqual(Motion(3), Motion(4));
    }

    private static string Motion(ulong seed)
    {
        var rig = new Rig(Definitions.Hanging(), null, seed);
        rig.Enable();
        rig.Home();
        rig.MoveTo(90_000);
        var trace = new List<string>();
        for (int i = 0; i < 100; i++)
        {
            rig.Pass(7);
            trace.Add($"{rig.Drive.Plant.PositionCounts:R} {rig.Drive.Plant.Torque:R}");
        }

        return string.Join('\n', trace);
    }

    private static string Trace(ulong seed)
    {
        var line = new SimulatedLine(Definitions.Port, [new SimulatedDrive(Definitions.Axis())]);
        var wire = new FaultyWire(line, new WireFaults(0.1, 0.1, 0.2, 0.1, 0.2, 0.1, TimeSpan.FromMilliseconds(30)), seed);
        var ask = new Transaction();
        ask.Read(3, 3, 0, 8);
        byte[] reply = new byte[512];
        var trace = new List<string>();
        for (int i = 1; i <= 300; i++)
        {
            var now = TimeSpan.FromMilliseconds(40 * i);
            int length = wire.Answer(ask.RequestFrame, now, reply, out var replyAt);
            string kind = length == 0 ? "silent" : length > 21 ? "long" : length < 21 ? "short" : Crc16.IsIntact(reply.AsSpan(0, length)) ? "good" : "bad";
            trace.Add($"{kind} {(replyAt - now > TimeSpan.FromMilliseconds(5) ? "late" : "")} {(replyAt - now).Ticks} {Convert.ToHexString(reply.AsSpan(0, length))}");
        }

        return string.Join('\n', trace);
    }
}
