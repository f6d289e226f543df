using System.Globalization;
using System.Runtime.Versioning;
using System.Text.Json;
using Supervisor.Interop.Peers;
using Supervisor.Machine.Api;
using Supervisor.Records.Axes;

namespace Supervisor.Interop.Machines;

/// <summary>A machine of one axis whose drive is the C program at the other end of a line: its file, the line, the drive, and the supervisor on it.</summary>
[SupportedOSPlatform("linux")]
internal sealed class DriveBench : IDisposable
{
    private const byte Address = 5;
    private const int CountsPerUnit = 100;
    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("drive-bench-");
    private readonly DriveSlaveProgram _program;
    private readonly string _kind;
    private readonly LineRelay _line;
    private int _mark;

    // Lets a whole computer that stood still pass, not a defect: that one shows in every attempt.
    private const int Attempts = 4;

    /// <summary>Starts it all and waits until the drive is met and its guard was reset by the button.</summary>
    /// <param name="program">The C program.</param>
    /// <param name="kind">Kind of its drive.</param>
    /// <param name="communicationTimeoutMs">The drive's.</param>
    private DriveBench(DriveSlaveProgram program, string kind, int communicationTimeoutMs)
    {
        (_program, _kind, CommunicationTimeout) = (program, kind, TimeSpan.FromMilliseconds(communicationTimeoutMs));
        _line = new LineRelay();
        Drive = StartDrive();
        Machine = new SupervisedMachine(WriteFile());
        try
        {
            WaitFor("the drive to be met", () => Axis.Online);
            PressReset();
        }
        catch
        {
            Dispose();
            throw;
        }
    }

    /// <summary>Silence after which the drive stops by itself; half of it, and the supervisor counts it as lost.</summary>
    public TimeSpan CommunicationTimeout { get; }

    /// <summary>The C program.</summary>
    public PeerProcess Drive { get; private set; }

    /// <summary>The supervisor.</summary>
    public SupervisedMachine Machine { get; }

    /// <summary>The axis, now.</summary>
    public AxisStatus Axis => Machine.Axis;

    /// <summary>A move of the axis, mm and mm/s.</summary>
    public static MoveCommand MoveTo(double position, double velocity = 300) => new([new MoveTarget(0, position, Relative: false)], velocity);

    /// <summary>
    /// Plays a scenario on a fresh machine. When it fails and the computer stood still meanwhile for longer than the supervisor grants a drive, it is
    /// played again, a few times at most.
    /// </summary>
    /// <param name="program">The C program.</param>
    /// <param name="kind">Kind of its drive.</param>
    /// <param name="scenario">What happens.</param>
    /// <param name="communicationTimeoutMs">As long as a busy computer may need, unless the scenario waits for it.</param>
    public static void Try(DriveSlaveProgram program, string kind, Action<DriveBench> scenario, int communicationTimeoutMs = 10_000)
    {
        Peer.Require(Peer.Libmodbus);
        for (var attempt = 1; ; attempt++)
        {
            using var watch = new StallWatch();
            try
            {
                using var bench = new DriveBench(program, kind, communicationTimeoutMs);
                scenario(bench);
                return;
            }
            catch (Exception failure) when (attempt < Attempts && watch.WasDisturbed)
            {
                TestContext.Current.TestOutputHelper?.WriteLine($"Attempt {attempt}: a processor stood still for {watch.Longest}. {failure.Message}");
            }
        }
    }

    public void WaitFor(string what, Func<bool> isSo) => Machine.WaitFor(what, isSo);

    /// <summary>Homes the axis, which leaves it ready at its zero.</summary>
    public void Home()
    {
        Machine.Do(new HomeCommand([0]));
        Assert.Equal((AxisState.Ready, true), (Axis.State, Axis.Referenced));
        Assert.InRange(Axis.Position, -1, 1);
    }

    /// <summary>Moves the axis, which leaves it ready there.</summary>
    public void Move(double position)
    {
        Machine.Do(MoveTo(position));
        Assert.Equal(AxisState.Ready, Axis.State);
        Assert.InRange(Axis.Position, position - 0.5, position + 0.5);
        AssertTrulyAt(position);
    }

    /// <summary>Asks the drive beside the line, so that a number read wrongly in the same way as it was written shows.</summary>
    public void AssertTrulyAt(double position)
    {
        var told = $"at {++_mark} ";
        Drive.Say($"where {_mark}");
        WaitFor("the drive to tell where it is", () => Drive.Output.Contains(told, StringComparison.Ordinal));
        var counts = Drive.Output.Split('\n').Single(line => line.StartsWith(told, StringComparison.Ordinal))[told.Length..];
        Assert.InRange(double.Parse(counts, CultureInfo.InvariantCulture) / CountsPerUnit * (IsInverted ? -1 : 1), position - 0.5, position + 0.5);
    }

    /// <summary>Begins a move of more than a minute, and waits until it is under way.</summary>
    public CommandTicket BeginLongMove()
    {
        var from = Axis.Position;
        var ticket = Machine.Begin(MoveTo(900, velocity: 10));
        WaitFor("the axis to be under way", () => ticket.Completion.IsCompleted || Axis.Position > from + 1);
        Assert.Equal(AxisState.Moving, Axis.State);
        return ticket;
    }

    /// <summary>Opens (0) or closes (1) an input of the drive and waits until the supervisor has seen it.</summary>
    public void SetInput(int number, bool closed)
    {
        Drive.Say($"input {number} {(closed ? 1 : 0)}");
        WaitFor($"input {number} to be {closed}", () => ((Axis.Inputs >> (number - 1)) & 1) == (closed ? 1u : 0u));
    }

    /// <summary>Presses the guard's button as a person does, again if the press was too short in the supervisor's eyes, until the guard is reset.</summary>
    public void PressReset()
    {
        WaitFor("the guard to be reset", () =>
        {
            SetInput(3, false);
            SetInput(3, true);
            Machine.ComesWithin(TimeSpan.FromMilliseconds(300), () => false);
            SetInput(3, false);
            return Machine.ComesWithin(TimeSpan.FromMilliseconds(300), () => !Machine.Interlock("guard").NeedsReset);
        });
    }

    /// <summary>Ends the drive as a power cut does.</summary>
    public void KillDrive() => Drive.Dispose();

    /// <summary>A drive that was ended comes back as one that was just switched on.</summary>
    public void RestartDrive() => Drive = StartDrive();

    public void Dispose()
    {
        Machine.Dispose();
        Drive.Dispose();
        _line.Dispose();
        _folder.Delete(recursive: true);
    }

    private bool IsInverted => _kind == DriveSlaveProgram.Single;

    private PeerProcess StartDrive() => _program.Start(_line.SlaveDevice, Address, _kind);

    private string WriteFile()
    {
        File.Copy(DriveSlaveProgram.Definition(_kind), Path.Combine(_folder.FullName, "drive.json"));
        var path = Path.Combine(_folder.FullName, "machine.json");
        var device = JsonEncodedText.Encode(_line.MasterDevice);
        var inverted = IsInverted ? "true" : "false";

        // Times that a busy computer keeps, too: a cycle with room for frames of one register, seconds before a silent drive counts as lost.
        File.WriteAllText(path, $$"""
            {
              "machine": { "name": "One axis" },
              "ports": [ { "name": "line", "device": "{{device}}", "baud": 115200, "parity": "none", "stopBits": 1,
                           "cycleMs": 100, "gap": "standard", "responseTimeoutMs": 95, "retries": 3 } ],
              "axes": [
                { "name": "slide", "port": "line", "address": {{Address}}, "definition": "drive.json",
                  "unit": "mm", "countsPerUnit": {{CountsPerUnit}}, "inverted": {{inverted}},
                  "limits": { "position": [-1000, 1000], "velocity": 300, "acceleration": 1000, "deceleration": 1000 },
                  "inPosition": { "window": 0.2, "dwellMs": 20 },
                  "torque": { "homing": 30, "moving": 100, "holding": 60, "contact": 25, "stopping": 150 },
                  "homing": { "method": 17, "fast": 100, "slow": 10, "timeoutMs": 50000 },
                  "communicationTimeoutMs": {{CommunicationTimeout.TotalMilliseconds}} } ],
              "interlocks": [
                { "name": "guard", "kind": "guard", "inputs": ["slide.input1"], "stopCategory": 1, "axes": "all", "resetInput": "slide.input3", "staleMs": 9000 },
                { "name": "vacuum", "kind": "process", "inputs": ["slide.input2"], "stopCategory": 2, "axes": "all", "staleMs": 9000 } ]
            }
            """);
        return path;
    }
}
