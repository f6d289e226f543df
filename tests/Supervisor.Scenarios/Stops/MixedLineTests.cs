using Supervisor.Configuration.Machines;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Stops;

/// <summary>
/// One line with CiA 402 words and with plain bits side by side, one drive of it mute and one that the interlock leaves alone: a trip while a reply is
/// coming in. Every register written after it is listed.
/// </summary>
public sealed class MixedLineTests
{
    private const int Controlword = 64;
    private const int CommandBits = 99;
    private const byte Words = 1;
    private const byte Bits = 7;
    private const byte Mute = 9;
    private const byte Aside = 11;
    private const int Phases = 14;

    private const string BitDrive = """
        { "name": "Bit drive", "protocol": "modbusRtu",
          "wire": { "read": { "function": 3, "maxRegisters": 8 }, "write": { "function": 16, "maxRegisters": 8 }, "wordOrder": "lowFirst", "firstRegister": 1 },
          "states": { "powered": "status.0", "inPosition": "status.1", "referenced": "status.2", "fault": "status.3", "moving": "status.4" },
          "commands": { "power": "command.0", "go": "command.1 rising", "stop": "command.2", "findReference": "command.3 rising", "clearFault": "command.4 rising" },
          "feedback": [ { "name": "status", "register": 200, "type": "u16" }, { "name": "position", "register": 201, "type": "s32" },
                        { "name": "velocity", "register": 210, "type": "s32" }, { "name": "digitalInputs", "register": 212, "type": "u16" } ],
          "command": [ { "name": "command", "register": 100, "type": "u16" }, { "name": "targetPosition", "register": 101, "type": "s32" },
                       { "name": "profileVelocity", "register": 103, "type": "u32" }, { "name": "profileAcceleration", "register": 120, "type": "u32" },
                       { "name": "profileDeceleration", "register": 122, "type": "u32" } ],
          "inputs": { "input1": "digitalInputs.0" },
          "communicationTimeout": { "fedBy": "anyFrame", "reaction": "quickStopThenOff" },
          "parameters": [ { "name": "communicationTimeout", "register": 300, "type": "u16", "unit": "ms" } ] }
        """;

    private static readonly string[] Concerned = ["words", "bits", "mute"];

    [Theory]
    [InlineData(0)]
    [InlineData(1)]
    public void Trip_InMidReply_WritesOnlyStopRegistersAndEveryAxisIsConfirmed(int category)
    {
        for (var phase = 0; phase < Phases; phase++)
        {
            var line = new Line(category);
            line.MoveAll();
            line.TripInTheReplyTo(phase);
            line.World.RunUntil(() => line.World.State("words") == AxisState.Disabled && line.World.State("bits") == AxisState.Disabled, 3, $"phase {phase}: both off");
            line.World.RunUntil(() => line.World.State("mute") == AxisState.Faulted, 3, $"phase {phase}: the mute one told");
            line.World.Run(3);

            // The whole list, unit by unit: nothing but the register that stops.
            Assert.Equal([(Words, Controlword), (Bits, CommandBits), (Mute, Controlword)], line.Written.Select(write => (write.Unit, write.Address)).Distinct().Order());
            line.AssertStopsFirst(phase);

            // Confirmed by what the drives told, and true of the plants. The mute one can't tell: its fault says so, its own time-out stopped it.
            foreach (var axis in Concerned)
            {
                Assert.False(line.World.Drive(axis).Plant.Powered, $"phase {phase}: {axis} has torque");
                Assert.True(Math.Abs(line.World.Drive(axis).Plant.VelocityCounts) < 1, $"phase {phase}: {axis} moves");
            }

            Assert.Equal([(FaultCode.LinkLost, "mute")], line.World.Faults.Select(fault => (fault.Code, line.World.Machine.Axes[fault.Axis].Name)));
            Assert.True(line.StopsTo(Mute) > 1, $"phase {phase}: one frame to a drive that did not answer");
            line.AssertTheOtherGoesOn(phase);
        }
    }

    [Fact]
    public void Trip_OfALatchNobodyReads_IsFoundByTheList()
    {
        // The planted bug: the moves go on and write more than stops.
        var line = new Line(category: 1);
        line.MoveAll();
        line.TripInTheReplyTo(0, hidden: true);
        line.World.Run(0.5);
        Assert.Contains(line.Written, write => write.Address is not (Controlword or CommandBits));
    }

    private sealed class Line
    {
        private readonly HashSet<byte> _told = [];
        private int _phase = -1;
        private bool _hidden;
        private bool _isMute;
        private TimeSpan? _trippedAt;
        private long _endedAtTheTrip;
        private long _endedAtTheFrame;
        private ulong _aside;

        public Line(int category)
        {
            World = new SimulatedWorld(Read(category), 51);
            World.StartUp();
            World.Ports[0].Interfere = frame => _isMute && frame.Unit == Mute ? Interference.LostRequest : Interference.None;
            foreach (var axis in World.Machine.Axes)
            {
                World.Do(axis.Name, AxisCommandKind.Home);
            }

            World.FrameBegun = Frame;
        }

        public SimulatedWorld World { get; }

        /// <summary>Registers written to the axes behind the interlock since the trip, in order.</summary>
        public List<(byte Unit, int Address, ushort Value)> Ever { get; } = [];

        /// <summary>Of these what went to an axis whose drive had not yet told that it rests or that its torque is off.</summary>
        public List<(byte Unit, int Address, ushort Value)> Written { get; } = [];

        public void MoveAll()
        {
            foreach (var axis in Concerned)
            {
                World.Give(axis, AxisCommandKind.Move, 290);
            }

            _aside = World.Give("aside", AxisCommandKind.Move, 290);
            World.RunUntil(() => World.Machine.Axes.All(axis => Math.Abs(World.Snapshot(axis.Name).Velocity) > 60), 2, "all at speed");

            // New targets are on their way when the trip comes: what it must hold back.
            foreach (var axis in Concerned)
            {
                World.Give(axis, AxisCommandKind.Move, 20);
            }
        }

        /// <summary>Trips while the reply to the n-th request from now on is on the line.</summary>
        public void TripInTheReplyTo(int phase, bool hidden = false)
        {
            (_phase, _hidden) = (phase, hidden);
            World.RunUntil(() => _trippedAt is not null, 2, "tripped");
            Assert.Equal(_endedAtTheFrame, _endedAtTheTrip);
        }

        public int StopsTo(byte unit) => Written.Count(write => write.Unit == unit && IsStop(write));

        /// <summary>The first frames are the stops, one to each axis; what else the registers are told afterwards takes torque and never gives motion.</summary>
        public void AssertStopsFirst(int phase)
        {
            Assert.Equal([Words, Bits, Mute], Written.Take(3).Select(write => write.Unit).Order());
            Assert.All(Written.Take(3), write => Assert.True(IsStop(write), $"phase {phase}: {write}"));
            Assert.DoesNotContain(Ever, write => write.Address == Controlword && (write.Value & 0x0F) == 0x0F);
            Assert.DoesNotContain(Ever, write => IsNewTarget(write) && !_told.Contains(write.Unit));
            Assert.DoesNotContain(Ever, write => write.Address == CommandBits && (write.Value & 0b1010) != 0);
        }

        public void AssertTheOtherGoesOn(int phase)
        {
            var end = World.EndOf(_aside);
            Assert.True(end.Outcome == Outcome.Done, $"phase {phase}: {end}");
        }

        /// <summary>CiA 402: quick stop 02, or disable voltage 00 of category 0. Of the bits: stop set, or power taken.</summary>
        private static bool IsStop((byte Unit, int Address, ushort Value) write) => write.Address == Controlword
            ? (write.Value & 0x0F) is 0x02 or 0x00
            : write.Address == CommandBits && ((write.Value & 0b100) != 0 || (write.Value & 0b1) == 0);

        /// <summary>The low word of 20 mm: the move that was on its way to a drive and is called back.</summary>
        private static bool IsNewTarget((byte Unit, int Address, ushort Value) write) =>
            write.Value == 20 * 500 && write.Address == (write.Unit == Bits ? CommandBits + 1 : Controlword + 3);

        private bool IsConfirmed(byte unit) =>
            World.Snapshot(World.Machine.Axes.Single(axis => axis.Address == unit).Name) is var axis && (!axis.TorqueOn || Math.Abs(axis.Velocity) < 1);

        private void Frame(WireFrame frame)
        {
            NoteTold(frame);
            if (_trippedAt is not null)
            {
                var writes = frame.Writes().Where(_ => frame.Unit != Aside).Select(write => (frame.Unit, write.Address, write.Value)).ToArray();
                Ever.AddRange(writes);
                Written.AddRange(IsConfirmed(frame.Unit) ? [] : writes);
            }
            else if (_phase >= 0 && frame.Unit != Mute && _phase-- == 0)
            {
                // The request, the drive's turnaround, then three characters of its answer.
                _endedAtTheFrame = World.Ports[0].Transactions;
                var line = World.Steppers[0].Line;
                World.Queue.After(line.CharacterTime(frame.Bytes.Length) + TimeSpan.FromMilliseconds(0.2) + line.CharacterTime(3), Trip);
            }
        }

        /// <summary>Notes a drive that heard its new target before the trip.</summary>
        private void NoteTold(WireFrame frame)
        {
            if (_trippedAt is null && frame.Writes().Any(write => IsNewTarget((frame.Unit, write.Address, write.Value))))
            {
                _told.Add(frame.Unit);
            }
        }

        private void Trip()
        {
            _trippedAt = World.Queue.Now;
            _endedAtTheTrip = World.Ports[0].Transactions;
            _isMute = true;
            if (!_hidden)
            {
                World.Trip("level");
            }
        }

        private static MachineDefinition Read(int category) => Machines.Read(
            $$"""
            { "machine": { "name": "Mixed line" },
              "ports": [ { "name": "line-a", "device": "/dev/ttyS0", "baud": 115200, "parity": "none", "stopBits": 1, "cycleMs": 60, "gap": "standard", "responseTimeoutMs": 10, "retries": 1 } ],
              "axes": [ {{Axis("words", Words, "reference.drive.json")}}, {{Axis("bits", Bits, "bits.drive.json")}}, {{Axis("mute", Mute, "reference.drive.json")}}, {{Axis("aside", Aside, "reference.drive.json")}} ],
              "interlocks": [ { "name": "level", "kind": "process", "inputs": ["aside.input1"], "stopCategory": {{category}}, "axes": ["words", "bits", "mute"] } ] }
            """,
            ("bits.drive.json", BitDrive));

        private static string Axis(string name, byte address, string definition) =>
            $$"""
            { "name": "{{name}}", "port": "line-a", "address": {{address}}, "definition": "{{definition}}", "unit": "mm", "countsPerUnit": 500,
              "limits": { "position": [-10, 300], "velocity": 100, "acceleration": 1500, "deceleration": 1500 },
              "inPosition": { "window": 0.1, "dwellMs": 20 }, "homing": { "method": 17, "fast": 60, "slow": 10, "offset": 0, "timeoutMs": 20000, "order": 1 },
              "reference": "incremental", "communicationTimeoutMs": 400 }
            """;
    }
}
