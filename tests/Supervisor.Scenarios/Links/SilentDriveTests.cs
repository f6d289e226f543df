using System.Globalization;
using Supervisor.Configuration.Budget;
using Supervisor.Configuration.Machines;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Links;

/// <summary>
/// Sixteen drives on a line of 1 Mbaud, some of them silent: what their neighbours' exchanges come to once the silent ones are known to be gone, on a
/// line that is half used and on one that is nearly full. All figures are of simulated time, and are printed.
/// </summary>
public sealed class SilentDriveTests
{
    private const int Drives = 16;
    private const double Seconds = 20;

    [Theory]
    [InlineData(0, 50)]
    [InlineData(1, 50)]
    [InlineData(2, 50)]
    [InlineData(4, 50)]
    [InlineData(8, 50)]
    [InlineData(12, 50)]
    [InlineData(15, 50)]
    [InlineData(0, 96)]
    [InlineData(1, 96)]
    [InlineData(4, 96)]
    [InlineData(15, 96)]
    public void SilentDrives_OnceKnown_LeaveTheirNeighboursTheirCycle(int silent, int usePercent)
    {
        var world = Enabled(silent, usePercent);
        var port = world.Machine.Ports[0];
        var (cycleMs, timeoutMs) = (port.Cycle.TotalMilliseconds, port.ResponseTimeout.TotalMilliseconds);
        var (every, worst, asked) = Measure(world, silent);
        TestContext.Current.TestOutputHelper!.WriteLine(
            $"{silent} of {Drives} silent, cycle {cycleMs:F2} ms, {usePercent} % used, time-out {timeoutMs:F2} ms: neighbours every {every:F2} ms, at worst {worst:F2} ms apart; "
            + $"a silent one asked {asked:F2} times a second; {world.Board.Ports[0].Port.Read().OverrunsLastMinute} cycles skipped in a minute");

        // What one time-out takes from a cycle that has no room for it, the next ones make up for; nobody is left out for a whole cycle.
        Assert.InRange(every, cycleMs * 0.999, cycleMs * 1.02);
        Assert.InRange(worst, cycleMs * 0.9, cycleMs * 2);
        Assert.True(silent == 0 || asked is > 0.9 and < 1.1, $"asked {asked} times a second");
        Assert.DoesNotContain(world.Faults, fault => fault.Axis >= silent);
    }

    [Fact]
    public void SilentDrives_WhenTheyAnswerAgain_AreMetWithinTheirSlowestPoll()
    {
        var world = Enabled(15, 50);
        world.Run(10);
        world.Ports[0].Interfere = null;
        world.RunUntil(() => Enumerable.Range(0, Drives).All(axis => world.Board.Axes[axis].Read().Online), 2.5, "all are back");
    }

    private static (double CycleMs, double WorstMs, double AskedPerSecond) Measure(SimulatedWorld world, int silent)
    {
        // Lost, found to be lost, and asked ever more seldom.
        world.Run(10);
        var last = new TimeSpan[Drives];
        var worst = TimeSpan.Zero;
        var exchanges = 0;
        var asked = 0;
        world.Ports[0].FrameBegun += (at, _, bytes) =>
        {
            var axis = bytes[0] - 1;
            if (axis < silent)
            {
                asked++;
            }
            else if (bytes[1] == 3 && bytes[3] < 64)
            {
                exchanges++;
                worst = last[axis] != TimeSpan.Zero && at - last[axis] > worst ? at - last[axis] : worst;
                last[axis] = at;
            }
        };
        world.Run(Seconds);
        return (Seconds * 1000 * (Drives - silent) / exchanges, worst.TotalMilliseconds, silent == 0 ? 0 : asked / Seconds / silent);
    }

    private static SimulatedWorld Enabled(int silent, int usePercent)
    {
        var cycleMs = LineBudget.Of(Machine(100, 20))[0].Reached.TotalMilliseconds * 100 / usePercent;
        var world = new SimulatedWorld(Machine(cycleMs, cycleMs / 4), 29);
        world.StartUp();
        foreach (var entry in world.Machine.Axes)
        {
            world.Do(entry.Name, AxisCommandKind.Enable);
        }

        world.Ports[0].Interfere = frame => frame.Unit <= silent ? Interference.LostRequest : Interference.None;
        return world;
    }

    private static MachineDefinition Machine(double cycleMs, double timeoutMs) => new OneAxis
    {
        Axes = Drives,
        Line = """ "baud": 1000000, "parity": "none", "stopBits": 1, "gap": "proportional" """,
        Port = string.Create(CultureInfo.InvariantCulture, $""" "cycleMs": {cycleMs:F3}, "responseTimeoutMs": {timeoutMs:F3}, "retries": 2 """),
        Axis = OneAxis.Endless + """, "communicationTimeoutMs": 900 """,
        CountsPerUnit = 100,
        Limits = """ "velocity": 400, "acceleration": 4000, "deceleration": 4000 """,
        Window = 0.5,
    }.Build();
}
