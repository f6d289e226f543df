using Supervisor.Configuration.Budget;
using Supervisor.Configuration.Machines;
using Supervisor.Records.Axes;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Links;

/// <summary>The times that a line's budget promises, against the real steppers under the worst that the promise allows.</summary>
public sealed class LineBudgetTests
{
    private const int Axes = 4;

    [Theory]
    [InlineData("\"responseTimeoutMs\": 6, \"retries\": 2")]
    [InlineData("\"responseTimeoutMs\": 20, \"retries\": 1")]
    public void Silence_WhateverTheOtherDrivesDo_IsNoLongerThanTheBudgetSays(string times)
    {
        for (var seed = 1; seed <= 6; seed++)
        {
            var world = Moving(times, seed);
            var random = new Random(seed);
            var heard = new Silence(world, random);
            for (var trouble = 0; trouble < 25; trouble++)
            {
                // All others at once, some of them, or noise that eats the watched drive's own frames within a cycle.
                heard.Trouble(random.Next(1, 16));
                world.Run(random.NextDouble() * 0.4);
                heard.Trouble(0);
                world.Run(1.5);
            }

            foreach (var axis in LineBudget.Of(world.Machine)[0].Axes)
            {
                Assert.True(heard.Longest[axis.Axis] <= axis.OthersMute, $"seed {seed}: axis {axis.Axis} was not asked for {heard.Longest[axis.Axis]}, the budget says {axis.OthersMute}");
                Assert.True(heard.Longest[axis.Axis] > world.Machine.Ports[0].Cycle, $"seed {seed}: nothing delayed axis {axis.Axis}");
            }
        }
    }

    [Fact]
    public void Trip_WhileADriveDoesNotAnswer_StopFramesGoOutWithinTheBudget()
    {
        for (var seed = 1; seed <= 40; seed++)
        {
            var world = Moving("\"responseTimeoutMs\": 20, \"retries\": 2", seed);
            var random = new Random(seed);
            var budget = LineBudget.Of(world.Machine)[0];
            world.Run(random.NextDouble() * 0.08);

            // One request goes unanswered when the trip comes; whichever it is.
            var mute = random.Next(2) == 0 ? random.Next(Axes) : -1;
            var lost = 0;
            world.Ports[0].Interfere = frame => frame.Unit == mute + 1 && lost++ == 0 ? Interference.LostRequest : Interference.None;
            world.Run(random.NextDouble() * 0.04);
            var stops = new TimeSpan?[Axes];
            var tripped = world.Queue.Now;
            world.FrameBegun = frame => stops[frame.Unit - 1] ??= frame.Writes().Select(write => write.Address).SequenceEqual([64]) ? frame.At : null;
            world.Trip("level");
            world.Run(0.3);
            foreach (var axis in budget.Axes)
            {
                var end = stops[axis.Axis]!.Value + world.Steppers[0].Line.CharacterTime(11) - tripped;
                Assert.True(end <= axis.ToStopFrame, $"seed {seed}: the stop of axis {axis.Axis} was out after {end}, the budget says {axis.ToStopFrame}");
            }
        }
    }

    [Fact]
    public void Trip_WhileDrivesHoldGentleRamps_StopFramesAndRampsGoOutWithinTheBudget()
    {
        var (ramps, late) = (0, 0);
        for (var seed = 1; seed <= 60; seed++)
        {
            var world = Moving("\"responseTimeoutMs\": 20, \"retries\": 2", seed);
            world.Run(0.5);
            var random = new Random(seed);
            var budget = LineBudget.Of(world.Machine)[0];

            // Each is told to run on at another speed by a ramp that is gentler by far: until the next exchange the drive holds that.
            for (var axis = 0; axis < Axes; axis++)
            {
                var limits = world.Machine.Axes[axis].Limits;
                Assert.True(world.Board.Ports[0].Mailbox.TryWrite(new AxisCommand(
                    (ulong)(1000 + axis), (short)axis, AxisCommandKind.Run, world.Board.Latch.StopEpoch(axis), 1, 40, limits.Acceleration, limits.Deceleration / 20, 0, false)));
            }

            world.Run(random.NextDouble() * 0.08);
            var mute = random.Next(2) == 0 ? random.Next(Axes) : -1;
            var lost = 0;
            world.Ports[0].Interfere = frame => frame.Unit == mute + 1 && lost++ == 0 ? Interference.LostRequest : Interference.None;
            var stops = new TimeSpan?[Axes];
            var tripped = world.Queue.Now;
            world.FrameBegun = frame =>
            {
                var writes = frame.Writes().Select(write => write.Address).ToArray();
                ramps += writes is [72, 73] && stops[frame.Unit - 1] is null ? 1 : 0;
                stops[frame.Unit - 1] ??= writes is [64] ? frame.At : null;
            };
            world.Trip("level");
            world.Run(0.3);
            foreach (var axis in budget.Axes)
            {
                var end = stops[axis.Axis]!.Value + world.Steppers[0].Line.CharacterTime(11) - tripped;
                Assert.True(end <= axis.ToStopFrame, $"seed {seed}: the stop of axis {axis.Axis} was out after {end}, the budget says {axis.ToStopFrame}");
                late += end > axis.ToStopFrame / 2 ? 1 : 0;
            }
        }

        Assert.True(ramps > 20 && late > 5, $"{ramps} ramps went ahead of stops, {late} stops were late: the check is empty");
    }

    private static SimulatedWorld Moving(string times, int seed)
    {
        var world = new SimulatedWorld(Machines.Read($$"""
            { "machine": { "name": "One line" },
              "ports": [ { "name": "line", "device": "/dev/ttyS0", "baud": 115200, "parity": "none", "stopBits": 1, "cycleMs": 40, "gap": "standard", {{times}} } ],
              "axes": [ {{string.Join(", ", Enumerable.Range(1, Axes).Select(Axis))}} ],
              "interlocks": [ { "name": "level", "kind": "process", "inputs": ["slide1.input1"], "stopCategory": 2, "axes": "all", "staleMs": 10000 } ] }
            """), (ulong)seed);
        world.StartUp();
        foreach (var axis in world.Machine.Axes)
        {
            world.Do(axis.Name, AxisCommandKind.Enable);
            world.Give(axis.Name, AxisCommandKind.Run, 1, velocity: 50);
        }

        world.RunUntil(() => world.Machine.Axes.All(axis => world.State(axis.Name) == AxisState.Moving), 2, "all move");
        return world;
    }

    private static string Axis(int number) => $$"""
        { "name": "slide{{number}}", "port": "line", "address": {{number}}, "definition": "reference.drive.json", "unit": "mm", "countsPerUnit": 100, "endless": { "period": 1000 },
          "limits": { "velocity": 400, "acceleration": 2000, "deceleration": 2000 }, "reference": "none", "communicationTimeoutMs": 20000 }
        """;

    /// <summary>Longest time between two requests to each drive while that drive itself hears them.</summary>
    private sealed class Silence
    {
        private readonly TimeSpan?[] _last = new TimeSpan?[Axes];
        private int _mute;

        public Silence(SimulatedWorld world, Random random)
        {
            world.Ports[0].Interfere = frame => IsMute(frame.Unit - 1) && random.Next(8) != 0 ? Interference.LostRequest : Interference.None;
            world.FrameBegun = frame =>
            {
                var axis = frame.Unit - 1;
                if (_last[axis] is { } last && !IsMute(axis) && world.Snapshot($"slide{frame.Unit}").Online)
                {
                    Longest[axis] = frame.At - last > Longest[axis] ? frame.At - last : Longest[axis];
                }

                _last[axis] = frame.At;
            };
        }

        public TimeSpan[] Longest { get; } = new TimeSpan[Axes];

        /// <summary>Bit i: drive i hears next to nothing.</summary>
        public void Trouble(int mute)
        {
            _mute = mute;
            Array.Clear(_last);
        }

        private bool IsMute(int axis) => (_mute & (1 << axis)) != 0;
    }
}
