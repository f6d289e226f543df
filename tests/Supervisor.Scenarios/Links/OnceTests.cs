using System.Globalization;
using Supervisor.Bus.Rtu;
using Supervisor.Records.Axes;
using Supervisor.Records.Commands;
using Supervisor.Runtime.Messaging;
using Supervisor.Scenarios.World;
using Supervisor.Simulation.Drives;
using Supervisor.Simulation.Wires;

namespace Supervisor.Scenarios.Links;

/// <summary>
/// What drives really execute of the commands given on a bad wire, counted inside the drives: each command at most once, each that was done exactly once.
/// Where an axis ends says less: an absolute target that is taken twice is one and the same.
/// </summary>
public sealed class OnceTests
{
    private const int Commands = 80;
    private const int ControlRegister = 64;
    private const int StartBit = 0x10;

    // A request that is damaged is not heard; an answer that is damaged, cut, late or doubled is not the answer.
    private static readonly WireFaults Noise = new(0.05, 0.06, 0.05, 0.02, 0.03, 0.02, TimeSpan.FromMilliseconds(12));

    private static readonly Dictionary<string, OneAxis> Drives = new()
    {
        ["function 16"] = new OneAxis(),
        ["function 23"] = new OneAxis { Wire = new OneAxis().Wire + """, "readWrite": { "function": 23 } """ },
        ["function 6"] = new OneAxis
        {
            Wire = """ "read": { "function": 3, "maxRegisters": 32 }, "write": { "function": 6, "maxRegisters": 1 } """,
            Command = """{ "name": "controlword", "register": 64, "type": "u16" }, { "name": "mode", "register": 65, "type": "s16" }, { "name": "targetPosition", "register": 66, "type": "s16", "scale": 10 }, { "name": "profileVelocity", "register": 68, "type": "u16", "scale": 100 }""",
        },
        ["bits"] = new OneAxis
        {
            States = """
                "states": { "powered": "status.0", "inPosition": "status.1", "referenced": "status.2", "fault": "status.3", "moving": "status.4" },
                "commands": { "power": "command.0", "go": "command.1 rising", "stop": "command.2", "findReference": "command.3 rising", "clearFault": "command.4 rising" }
                """,
            Feedback = """{ "name": "status", "register": 0, "type": "u16" }, { "name": "position", "register": 1, "type": "s32" }, { "name": "velocity", "register": 3, "type": "s32" }, { "name": "digitalInputs", "register": 5, "type": "u16" }""",
            Command = """{ "name": "command", "register": 64, "type": "u16" }, { "name": "targetPosition", "register": 66, "type": "s32" }, { "name": "profileVelocity", "register": 68, "type": "u32" }, { "name": "profileAcceleration", "register": 70, "type": "u32" }, { "name": "profileDeceleration", "register": 72, "type": "u32" }""",
        },
    };

    public static TheoryData<string, int> Runs
    {
        get
        {
            var runs = new TheoryData<string, int>();
            foreach (var drive in Drives.Keys)
            {
                runs.Add(drive, 201);
                runs.Add(drive, 202);
            }

            return runs;
        }
    }

    [Theory]
    [MemberData(nameof(Runs))]
    public void Commands_OnANoisyWire_AreExecutedOnce(string drive, int seed)
    {
        var count = Run(drive, seed, retryTogglesTheTrigger: false);

        Assert.Empty(count.Findings);
        Assert.Equal(count.Done[DriveAct.SetPoint], count.ExecutedOfDone[DriveAct.SetPoint]);
        Assert.Equal(count.Done[DriveAct.Homing], count.ExecutedOfDone[DriveAct.Homing]);
        Assert.Equal(count.Done[DriveAct.FaultClear], count.ExecutedOfDone[DriveAct.FaultClear]);

        // Not vacuous: all three kinds were done often, and the wire took its share.
        Assert.True(count.Done[DriveAct.SetPoint] > 40 && count.Done[DriveAct.Homing] > 3 && count.Done[DriveAct.FaultClear] > 3, $"{drive}, seed {seed}: {count}");
        Assert.True(count.Wire is { LostRequests: > 20, LostReplies: > 20, Corrupted: > 20 }, $"{drive}, seed {seed}: {count}");
    }

    /// <summary>A repeat that lets the trigger fall and raises it again: each axis ends where it should, and takes its target twice.</summary>
    [Theory]
    [InlineData("function 16")]
    [InlineData("function 23")]
    [InlineData("function 6")]
    public void Commands_WhereARepeatTogglesTheTrigger_AreFound(string drive)
    {
        var count = Run(drive, 203, retryTogglesTheTrigger: true);

        Assert.Contains(count.Findings, finding => finding.Contains("SetPoint executed 2 times", StringComparison.Ordinal));
        Assert.DoesNotContain(count.Findings, finding => finding.Contains("ended at", StringComparison.Ordinal));
    }

    private static Count Run(string drive, int seed, bool retryTogglesTheTrigger)
    {
        var world = new SimulatedWorld((Drives[drive] with { Port = """ "cycleMs": 40, "responseTimeoutMs": 15, "retries": 2 """ }).Build(), (ulong)seed);
        world.StartUp();
        world.Do("slide", AxisCommandKind.Home);
        if (retryTogglesTheTrigger)
        {
            world.FrameBegun = new TogglingRepeat(world).Look;
        }

        var count = new Count(world);
        world.Drive("slide").Acted = count.Take;
        var random = new Random(seed);
        for (var i = 0; i < Commands; i++)
        {
            // A drive in fault is reset; else mostly a move, now and then a homing.
            if (i % 8 == 7)
            {
                world.Drive("slide").Trip(0x8611);
                world.RunUntil(() => world.State("slide") == AxisState.Faulted, 3, "faulted");
                world.Run(2);
                count.Give(AxisCommandKind.Reset, DriveAct.FaultClear, 0, Noise);
                Restore(world);
                continue;
            }

            var isHoming = random.Next(8) == 0;
            var by = (world.Snapshot("slide").Position > 100 ? -1 : 1) * (5 + (35 * random.NextDouble()));
            if (!count.Give(isHoming ? AxisCommandKind.Home : AxisCommandKind.MoveBy, isHoming ? DriveAct.Homing : DriveAct.SetPoint, by, Noise))
            {
                Restore(world);
            }
        }

        count.Wire = world.Ports[0].Wire.Counts;
        return count;
    }

    /// <summary>On a good wire: whatever the last command left, the axis is ready with a known zero again.</summary>
    private static void Restore(SimulatedWorld world)
    {
        world.Run(3);
        if (world.State("slide") == AxisState.Faulted)
        {
            world.Do("slide", AxisCommandKind.Reset);
        }

        if (!world.Snapshot("slide").Referenced)
        {
            world.Do("slide", AxisCommandKind.Home);
        }
        else if (world.State("slide") == AxisState.Disabled)
        {
            world.Do("slide", AxisCommandKind.Enable);
        }
    }

    /// <summary>Counts what the drive executes while each command is in hand, and holds it against how the command ended.</summary>
    private sealed class Count(SimulatedWorld world)
    {
        private readonly Dictionary<DriveAct, int> _acts = [];

        public List<string> Findings { get; } = [];

        /// <summary>Commands that ended as done, by what they are to the drive.</summary>
        public Dictionary<DriveAct, int> Done { get; } = Enum.GetValues<DriveAct>().ToDictionary(act => act, _ => 0);

        /// <summary>What the drive executed for these.</summary>
        public Dictionary<DriveAct, int> ExecutedOfDone { get; } = Enum.GetValues<DriveAct>().ToDictionary(act => act, _ => 0);

        public WireFaultCounts Wire { get; set; }

        public void Take(DriveAct act) => _acts[act] = _acts.GetValueOrDefault(act) + 1;

        /// <summary>Gives a command on a noisy wire and waits for its end, then for all that is still to come on a good one. True when it was done.</summary>
        public bool Give(AxisCommandKind kind, DriveAct act, double by, WireFaults noise)
        {
            _acts.Clear();
            var from = world.Snapshot("slide").Position;
            world.Ports[0].Wire.Faults = noise;
            var id = world.Give("slide", kind, by);
            world.RunUntil(() => world.EndOf(id).Outcome != Outcome.None, 60, $"{kind} ends");
            world.Run(0.5);
            world.Ports[0].Wire.Faults = WireFaults.None;
            world.Run(0.5);
            var outcome = world.EndOf(id).Outcome;
            var executed = _acts.GetValueOrDefault(act);
            Note(executed <= 1, $"{kind} {id}: {act} executed {executed} times, {outcome}");
            Note(_acts.Keys.All(other => other == act), $"{kind} {id}: executed {string.Join(", ", _acts.Keys)}");
            if (outcome != Outcome.Done)
            {
                return false;
            }

            Done[act]++;
            ExecutedOfDone[act] += executed;
            Note(executed > 0, $"{kind} {id}: done, and {act} was not executed");
            var place = world.Snapshot("slide").Position;
            Note(kind != AxisCommandKind.MoveBy || Math.Abs(place - from - by) < 0.3, string.Create(CultureInfo.InvariantCulture, $"{kind} {id}: ended at {place}, not {from + by}"));
            return true;
        }

        public override string ToString() => $"{string.Join(", ", Done)}; {Wire}; {string.Join("; ", Findings)}";

        private void Note(bool isGood, string finding)
        {
            if (!isGood)
            {
                Findings.Add(finding);
            }
        }
    }

    /// <summary>The planted bug: before each repeat of a frame that raises the trigger, a frame lets it fall.</summary>
    private sealed class TogglingRepeat(SimulatedWorld world)
    {
        private readonly byte[] _reply = new byte[600];
        private readonly Transaction _low = new();
        private byte[] _last = [];

        public void Look(WireFrame frame)
        {
            var raises = frame.Writes().Where(write => write.Address == ControlRegister && (write.Value & StartBit) != 0).ToArray();
            if (raises.Length > 0 && frame.Bytes.AsSpan().SequenceEqual(_last))
            {
                _low.WriteSingle(frame.Unit, ControlRegister, (ushort)(raises[0].Value & ~StartBit));
                world.Plant.Lines[frame.Port].Answer(_low.RequestFrame, frame.At, _reply, out _);
            }

            _last = frame.Bytes;
        }
    }
}
