using Supervisor.Configuration.Machines;

namespace Supervisor.Configuration.Tests;

/// <summary>What a machine file asks of a drive that its definition does not declare, or that its registers can't hold.</summary>
public sealed class AxisDriveTests
{
    [Theory]
    [InlineData("command[6] -", "", "axes[0].torque: drive \"Reference drive\" declares no command field \"torqueLimit\": these limits could not be kept")]
    [InlineData("command[3] -", "", "axes[0].followingError: drive \"Reference drive\" neither tells its following error (feedback field \"followingError\") nor takes \"profileVelocity\", by which it is computed: nothing would be watched; declare what the drive has, or take followingError out and rely on the drive's own window")]
    [InlineData("command[4] -", "", "axes[0].followingError: drive \"Reference drive\" neither tells its following error (feedback field \"followingError\") nor takes \"profileAcceleration\", by which it is computed: nothing would be watched; declare what the drive has, or take followingError out and rely on the drive's own window")]
    [InlineData("command[4] -\ncommand[3] -", "", "axes[0].followingError: drive \"Reference drive\" neither tells its following error (feedback field \"followingError\") nor takes \"profileVelocity\" and \"profileAcceleration\", by which it is computed: nothing would be watched; declare what the drive has, or take followingError out and rely on the drive's own window")]
    [InlineData("command[3] -", "axes[0].followingError -\naxes[0].recovery[0].faults = [\"following\", \"link\"]", "axes[0].recovery[0].faults: \"following\" is recovered at a reduced speed, but drive \"Reference drive\" declares no command field \"profileVelocity\"; take \"following\" out")]
    [InlineData("communicationTimeout -\nparameters[0] -", "", "axes[0].communicationTimeoutMs: drive \"Reference drive\" declares no communicationTimeout, neither the object nor a parameter: it would not stop by itself")]
    [InlineData("communicationTimeout.fedBy = \"write\"\nrefreshMs = 210", "", "axes[0].communicationTimeoutMs: 250 ms is not above refreshMs 210 of drive \"Reference drive\" and a cycle: only writes feed its time-out")]
    [InlineData("command[6].scale = 0.001", "", "axes[0].torque.moving: 100 % would be 100000 in the drive's \"torqueLimit\", which holds 0 to 65535\naxes[0].torque.stopping: 150 % would be 150000 in the drive's \"torqueLimit\", which holds 0 to 65535")]
    [InlineData("command[2].type = \"s16\"", "axes[0].limits.position = [0, 30]", "axes[1].endless.period: 320000 counts would be 320000 in the drive's \"targetPosition\", which holds -32768 to 32767\naxes[2].limits.position: 820000 counts would be 820000 in the drive's \"targetPosition\", which holds -32768 to 32767\naxes[3].endless.period: 36000 counts would be 36000 in the drive's \"targetPosition\", which holds -32768 to 32767")]
    [InlineData("command[2].type = \"u32\"", "axes[0].inverted = true", "axes[0].limits.position: -180000 counts would be -180000 in the drive's \"targetPosition\", which holds 0 to 4294967295")]
    [InlineData("command[3].type = \"u16\"\ncommand[3].scale = 10", "axes[0].limits.velocity = 700", "axes[0].limits.velocity: 700000 counts/s would be 70000 in the drive's \"profileVelocity\", which holds 0 to 65535")]
    [InlineData("command[4].type = \"u16\"\ncommand[4].scale = 40", "axes[0].limits.acceleration = 2700", "axes[0].limits.acceleration: 2700000 counts/s² would be 67500 in the drive's \"profileAcceleration\", which holds 0 to 65535")]
    [InlineData("command[5].type = \"u16\"\ncommand[5].scale = 40", "axes[0].limits.deceleration = 2700", "axes[0].limits.deceleration: 2700000 counts/s² would be 67500 in the drive's \"profileDeceleration\", which holds 0 to 65535")]
    [InlineData("parameters[3] = { \"name\": \"homingSpeedFast\", \"register\": 140, \"type\": \"u16\" }", "axes[0].homing.fast = 66\naxes[2].homing.fast = 60", "axes[0].homing.fast: 66000 counts/s would be 66000 in the drive's \"homingSpeedFast\", which holds 0 to 65535")]
    [InlineData("parameters[0].scale = 0.001", "axes[0].communicationTimeoutMs = 170", "axes[0].communicationTimeoutMs: 170 ms would be 170000 in the drive's \"communicationTimeout\", which holds 0 to 65535")]
    public void Read_MoreThanTheDriveDeclares_IsRefused(string driveEdits, string machineEdits, string expected) =>
        Assert.Equal(expected.Split('\n').Select(line => "machine.json:1:N: " + line), Read("reference.drive.json", driveEdits, machineEdits));

    [Theory]
    [InlineData("commands.findReference -", "axes[0].homing: drive \"Positioner with bits\" declares neither CiA 402 nor commands.findReference: it can't be homed")]
    [InlineData("states.referenced -", "axes[0].homing: drive \"Positioner with bits\" declares no states.referenced: the end of homing could not be seen")]
    public void Read_HomingADriveThatCannot_IsRefused(string driveEdits, string expected) =>
        Assert.Equal(["machine.json:1:N: " + expected], Read("bits.drive.json", driveEdits, BitsOnly));

    [Fact]
    public void Read_DriveWithItsOwnHoming_NeedsNoMethodAndNoSpeeds() =>
        Assert.Empty(Read("bits.drive.json", "", BitsOnly + "\naxes[0].homing = { \"timeoutMs\": 5000 }"));

    [Fact]
    public void Read_DriveThatTellsItsFollowingError_NeedsNoSpeedAndRamp() =>
        Assert.Empty(Read("reference.drive.json", "command[4] -\nfeedback[6] = { \"name\": \"followingError\", \"register\": 9, \"type\": \"s32\" }", ""));

    [Fact]
    public void Read_DriveWithRampTimes_IsComputedBy() =>
        Assert.Empty(Read(
            "reference.drive.json",
            "command[4] = { \"name\": \"accelerationTime\", \"register\": 70, \"type\": \"u32\" }\ncommand[5] = { \"name\": \"decelerationTime\", \"register\": 72, \"type\": \"u32\" }\nrampTimes = { \"toSpeed\": \"commandedVelocity\" }",
            ""));

    [Fact]
    public void Read_DriveWithoutTimeout_MayStayWithoutOne() =>
        Assert.Empty(Read("reference.drive.json", "communicationTimeout -\nparameters[0] -", "axes[0].communicationTimeoutMs -"));

    [Fact]
    public void Read_DefinitionMissing_EveryAxisThatNamesItIsTold()
    {
        using var folder = new TestFolder();
        var text = EditedJson.Apply(Samples.Example("machine.json"), "axes[3].definition = \"gone.drive.json\"\naxes[1].definition = \"gone.drive.json\"\ninterlocks -");
        File.Copy(Samples.Example("reference.drive.json"), folder.At("reference.drive.json"));
        var errors = MachineFile.Read(folder.Write("machine.json", text)).Errors;

        Assert.Equal(["axes[1].definition", "axes[3].definition"], errors.Select(error => error.Path));
        Assert.All(errors, error => Assert.Equal($"\"{folder.At("gone.drive.json")}\": file not found; check the name and the folder", error.Message));
    }

    [Fact]
    public void Read_DefinitionWithErrors_IsToldOnceInItsOwnFileAndNamesInItStillCount()
    {
        var errors = Read("reference.drive.json", "refreshMs = -1\ninputs.input1 = \"digitalInputs.77\"\ncommand[6].type = \"u8\"", "interlocks[2].inputs = [\"drum.input8\"]");

        Assert.Equal(
            [
                "machine.json:1:N: interlocks[2].inputs[0]: \"drum.input8\": drive \"Reference drive\" has no input \"input8\"; did you mean \"input1\"?",
                "reference.drive.json:1:N: command[6].type: \"u8\" is none of \"u16\", \"s16\", \"u32\", \"s32\"",
                "reference.drive.json:1:N: inputs.input1: bit 77 is outside field \"digitalInputs\", whose bits are 0 to 15",
                "reference.drive.json:1:N: refreshMs: -1 must be 0 to 60000 ms",
            ],
            errors);
    }

    [Fact]
    public void Read_DefinitionInASubfolder_IsBesideTheMachineFile()
    {
        using var folder = new TestFolder();
        Directory.CreateDirectory(folder.At("drives"));
        File.Copy(Samples.Example("reference.drive.json"), folder.At("drives/reference.drive.json"));
        var edits = string.Join('\n', Enumerable.Range(0, 4).Select(i => $"axes[{i}].definition = \"drives/reference.drive.json\""));
        var result = MachineFile.Read(folder.Write("machine.json", EditedJson.Apply(Samples.Example("machine.json"), edits)));

        Assert.Empty(result.Errors);
        Assert.Same(result.Value!.Axes[0].Drive, result.Value.Axes[1].Drive);
    }

    /// <summary>The first axis alone, with what a simple positioner can do.</summary>
    private const string BitsOnly =
        """
        interlocks -
        axes[3] -
        axes[2] -
        axes[1] -
        axes[0].torque -
        axes[0].followingError -
        axes[0].communicationTimeoutMs -
        """;

    /// <summary>Errors with the column left out, as the edited file is one long line.</summary>
    private static string[] Read(string drive, string driveEdits, string machineEdits)
    {
        using var folder = new TestFolder();
        folder.Write("reference.drive.json", EditedJson.Apply(Samples.Example(drive), driveEdits));
        var result = MachineFile.Read(folder.Write("machine.json", EditedJson.Apply(Samples.Example("machine.json"), machineEdits)));
        Assert.Equal(result.Errors.Count == 0, result.IsGood);
        return [.. folder.Lines(result.Errors).Select(line => System.Text.RegularExpressions.Regex.Replace(line, @":1:\d+:", ":1:N:"))];
    }
}
