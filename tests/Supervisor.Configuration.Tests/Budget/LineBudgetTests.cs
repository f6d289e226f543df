using Supervisor.Configuration.Budget;
using Supervisor.Configuration.Machines;

namespace Supervisor.Configuration.Tests.Budget;

/// <summary>
/// The budget of a line, computed by hand: characters of 10 bits without parity (8N1), 11 with; frames by the MODBUS Application Protocol V1.1b3, 6
/// (read 8 and 5 + 2n, write several 9 + 2n and 8, read-write 13 + 2n and 5 + 2n); 1.750 ms between them above 19200 baud, 3.5 characters else (MODBUS
/// over Serial Line V1.02, 2.5.1.1). All read in the primary text.
/// </summary>
public sealed class LineBudgetTests
{
    [Fact]
    public void Of_FourAxesAt115200_IsWhatTheFramesTake()
    {
        var port = LineBudget.Of(Samples.Machine(Samples.Example("machine.json")))[0];

        // 8 registers read: 8 + 21 characters, 2.517 ms, and 0.2 ms turnaround and 1.75 ms gap.
        Assert.Equal(290, port.Axes[0].Bits);
        Near(2.517361 + 1.95, port.Axes[0].Exchange);
        Near(4 * 4.467361, port.Reached);
        Assert.Equal(4 * 4.467361 / 40, port.Use, 5);

        // 11 registers written, 8 read in one request: 35 + 21 characters.
        Near(56 / 11.52 + 1.95, port.Axes[0].Commanded);
        Near(4 * (56 / 11.52 + 1.95), port.Commanded);
    }

    [Fact]
    public void Of_FourAxesAt115200_LegalSilenceIsACycleItsOverrunAndRepeats()
    {
        var axis = LineBudget.Of(Samples.Machine(Samples.Example("machine.json")))[0].Axes[1];

        // A request of 35 characters without an answer: 3.038 ms, 20 ms, turnaround and gap.
        var unanswered = (35 / 11.52) + 20 + 1.95;
        Near(40 + 40 + unanswered + 40, axis.LegalSilence);
        Near(40 + (3 * unanswered) + unanswered + 40, axis.OthersMute);
    }

    [Fact]
    public void Of_GravityLoadedAxisFirst_StopFramesFollowIt()
    {
        var machine = Samples.Machine(Samples.Example("machine.json"));
        var axes = LineBudget.Of(machine)[0].Axes;
        var unanswered = (35 / 11.52) + 20 + 1.95;
        var frame = 11 / 11.52;
        var answered = (19 / 11.52) + 1.95;

        // The dibber hangs: nothing goes before it, and the request on the line is the one without an answer.
        Near(unanswered + frame, axes[0].ToStopFrame);

        // Then tray, gantry, drum in the file's order: worse is an answered request on the line, and a stop that goes before without its answer of 8.
        var busy = (56 / 11.52) + 1.95;
        var lost = 20 - (8 / 11.52);
        Near(busy + answered + lost + frame, axes[1].ToStopFrame);

        // The drum has an interlock of category 2: it may be braking on a gentle ramp, and the limit's goes out ahead, 13 + 8 characters. Lost, it goes out
        // once more, and its answer may be put down to the first.
        Near(busy + (3 * answered) + (2 * ((21 / 11.52) + 1.95 + lost)) + frame, axes[3].ToStopFrame);

        // 250 mm/s for that time, then v²/2a + va/2j as v > a²/j (check: 15.625 + 6.25).
        Assert.Equal((250 * axes[0].ToStopFrame.TotalSeconds) + 15.625 + 6.25, axes[0].StoppingDistance, 6);
        Assert.Equal((720 * axes[3].ToStopFrame.TotalSeconds) + 72, axes[3].StoppingDistance, 6);
    }

    [Fact]
    public void Of_AxesThatMayBrakeOnAGentleRamp_HaveTheLimitsAheadOfTheirStops()
    {
        var machine = Samples.Machine(Samples.Example("machine.json"));
        var frame = 11 / 11.52;
        var stop = (19 / 11.52) + 1.95;
        var ramp = (21 / 11.52) + 1.95;
        var busy = (56 / 11.52) + 1.95;
        var lost = 20 - (8 / 11.52);
        TimeSpan Of(int axis, Func<InterlockDefinition, InterlockDefinition> edit) =>
            LineBudget.Of(machine with { Interlocks = [.. machine.Interlocks.Select(edit)] })[0].Axes[axis].ToStopFrame;

        Near(busy + (3 * stop) + lost + frame, Of(3, each => each with { StopCategory = 1 }));
        foreach (var axis in (int[])[0, 3])
        {
            // First or last: a ramp that is lost goes out once more behind all others.
            Near(busy + (3 * (ramp + stop)) + (2 * (ramp + lost)) + frame, Of(axis, each => each with { StopCategory = 2, Axes = [0, 1, 2, 3] }));
        }

        // One register by function 6: 8 and 8; two by it are no frame.
        var single = machine.Axes[3].Drive with { Wire = machine.Axes[3].Drive.Wire with { WriteFunction = 6, MaximumWrite = 1, HasReadWrite = false } };
        Near((8 / 11.52) + 20 + 1.95 + (8 / 11.52), Alone(single));
        var narrow = single with { Command = [.. single.Command.Select(field => field.Name == "profileDeceleration" ? field with { Type = Configuration.Drives.RegisterType.U16 } : field)] };
        Near((29 / 11.52) + 1.95 + (2 * ((16 / 11.52) + 1.95 + lost)) + (8 / 11.52), Alone(narrow));

        TimeSpan Alone(Configuration.Drives.DriveDefinition drive) =>
            LineBudget.Of(machine with { Axes = [machine.Axes[3] with { Drive = drive }], Interlocks = [machine.Interlocks[2] with { Axes = [0] }] })[0].Axes[0].ToStopFrame;
    }

    [Fact]
    public void Of_SixteenAxesAtOneMegabaudWithProportionalGaps_FitIntoTwentyMilliseconds()
    {
        var machine = Samples.Machine(Samples.Example("machine.json"));
        var axes = Enumerable.Range(0, 16).Select(_ => machine.Axes[0]).ToArray();
        var port = LineBudget.Of(machine with
        {
            Ports = [machine.Ports[0] with { Baud = 1_000_000, Gap = new GapDefinition(GapKind.Proportional, default), Cycle = TimeSpan.FromMilliseconds(20) }],
            Axes = axes,
            Interlocks = [],
        })[0];

        // (56 characters and a gap of 3.5) × 10 us, 0.2 ms turnaround.
        Near(16 * (0.56 + 0.035 + 0.2), port.Commanded);
        Assert.True(port.Commanded < TimeSpan.FromMilliseconds(20));
    }

    [Fact]
    public void Of_Module_IsItsReadingAndWhereItsOutputsAreSetToo()
    {
        var machine = Samples.Machine(Samples.Example("machine.json"));
        var packing = new BitPacking(16, BitOrder.LowFirst, Configuration.Drives.ByteOrder.HighFirst, Configuration.Drives.WordOrder.LowFirst);
        var port = LineBudget.Of(machine with
        {
            Modules =
            [
                new ModuleDefinition("io", 0, 20, new ModuleInputs(2, 0, 16, packing, new Dictionary<string, int>()),
                    new ModuleOutputs(15, 0, 8, packing, new Dictionary<string, int>(), new ModuleReadBack(1, 0)), null,
                    TimeSpan.FromMilliseconds(80), TimeSpan.FromMilliseconds(400), TimeSpan.FromMilliseconds(1)),
            ],
        })[0];

        // 16 inputs 8 + 7 characters; 8 coils written 10 + 8, read back 8 + 6; 1 ms turnaround and 1.75 ms gap for each.
        var module = Assert.Single(port.Modules);
        Assert.Equal(("io", 470), (module.Name, module.Bits));
        Near((47 / 11.52) + (3 * 2.75), module.Exchange);
        Near((15 / 11.52) + 2.75, module.Read);
        Near((4 * 4.467361) + (47 / 11.52) + (3 * 2.75), port.Reached);
    }

    [Fact]
    public void Of_LineOfModulesOnly_IsInUseAsOftenAsTheyAreRead()
    {
        var machine = Samples.Machine(Samples.Example("machine.json"));
        var packing = new BitPacking(16, BitOrder.LowFirst, Configuration.Drives.ByteOrder.HighFirst, Configuration.Drives.WordOrder.LowFirst);
        ModuleDefinition Module(string name, byte address, double pollMs) => new(
            name, 1, address, new ModuleInputs(2, 0, 16, packing, new Dictionary<string, int>()), null, null, TimeSpan.FromMilliseconds(pollMs), TimeSpan.FromSeconds(5), TimeSpan.Zero);
        var port = LineBudget.Of(machine with { Ports = [machine.Ports[0], machine.Ports[0] with { Name = "line-b" }], Modules = [Module("a", 1, 40), Module("b", 2, 400)] })[1];

        // 8 and 7 characters and 1.75 ms, of every 40 ms and of every 400 ms.
        Assert.Equal((15 / 11.52 + 1.75) * ((1 / 40.0) + (1 / 400.0)), port.Use, 5);
        Assert.Empty(port.Axes);
    }

    [Fact]
    public void Of_SlowLineWithParity_HasElevenBitsAndGapsOfThreeAndAHalfCharacters()
    {
        var machine = Samples.Machine(Samples.Example("machine.json"));
        var axis = LineBudget.Of(machine with
        {
            Ports = [machine.Ports[0] with { Baud = 9600, Parity = ParityKind.Even }],
        })[0].Axes[0];

        // Character 1.145833 ms, t3.5 4.010417 ms at 9600 baud (computed).
        Assert.Equal(29 * 11, axis.Bits);
        Near((29 * 1.145833) + 4.010417 + 0.2, axis.Exchange);
    }

    [Fact]
    public void Read_TimeoutLeftOutOnALineThatNeedsMore_IsAsLongAsTheLineNeeds()
    {
        // Five cycles and 50 ms are 150 ms; the line may leave a drive unasked for 20 + 20 + 34.5 + 20 ms only with a short response time-out.
        var usual = Read("ports[0].cycleMs = 20\nports[0].responseTimeoutMs = 10\naxes[0].communicationTimeoutMs -");
        Assert.Equal(150, usual.Axes[0].CommunicationTimeout.TotalMilliseconds);

        var writes = Read("axes[0].communicationTimeoutMs -", "communicationTimeout.fedBy = \"write\"\nrefreshMs = 50");
        var needed = LineBudget.Of(writes)[0].Axes[0].LegalSilence.TotalMilliseconds + 50;
        Assert.Equal(Math.Ceiling(needed * 1.5), writes.Axes[0].CommunicationTimeout.TotalMilliseconds);
    }

    private static MachineDefinition Read(string edits, string driveEdits = "")
    {
        using var folder = new TestFolder();
        folder.Write("reference.drive.json", EditedJson.Apply(Samples.Example("reference.drive.json"), driveEdits));
        var result = MachineFile.Read(folder.Write("machine.json", EditedJson.Apply(Samples.Example("machine.json"), edits)));
        Assert.Empty(result.Errors);
        return result.Value!;
    }

    private static void Near(double ms, TimeSpan time) => Assert.InRange(time.TotalMilliseconds, ms - 0.001, ms + 0.001);
}
