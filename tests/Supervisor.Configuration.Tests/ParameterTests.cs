using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;

namespace Supervisor.Configuration.Tests;

/// <summary>Drive parameters that a machine file fixes, and what a definition says of stored ones.</summary>
public sealed class ParameterTests
{
    private const string Gain = "parameters[3] = { \"name\": \"gain\", \"register\": 148, \"type\": \"u16\", \"unit\": \"1/s\", \"scale\": 0.1 }\n";
    private const string ReadOnlyGain = "parameters[3] = { \"name\": \"gain\", \"register\": 148, \"type\": \"u16\", \"access\": \"read\" }\n";
    private const string WriteOnlyGain = "parameters[3] = { \"name\": \"gain\", \"register\": 148, \"type\": \"u16\", \"access\": \"write\" }\n";

    [Fact]
    public void Read_Parameters_EveryMemberArrives()
    {
        var axis = Samples.Machine(Samples.Example("everything.json")).Axes[0];

        var parameter = Assert.Single(axis.Parameters);
        Assert.Equal(("gain", 12.5, DifferenceAction.Refuse), (parameter.Field.Name, parameter.Value, parameter.OnDifference));
        Assert.True(parameter.Field.Stored);
        Assert.Equal((150, 1702257011, TimeSpan.FromMilliseconds(200)), (axis.Drive.SaveParameters!.Field.Register, axis.Drive.SaveParameters.Value, axis.Drive.SaveParameters.Busy));
    }

    [Fact]
    public void Read_NumberAlone_IsWrittenOnADifference()
    {
        using var folder = new TestFolder();
        var result = Read(folder, Gain, "axes[0].parameters = { \"gain\": 12.3 }");

        var parameter = Assert.Single(result.Value!.Axes[0].Parameters);
        Assert.Equal((12.3, DifferenceAction.Write), (parameter.Value, parameter.OnDifference));
    }

    [Theory]
    [InlineData(Gain, "{ \"gian\": 1 }", ".gian: drive \"Reference drive\" declares no parameter \"gian\"; did you mean \"gain\"?")]
    [InlineData(ReadOnlyGain, "{ \"gain\": 1 }", ".gain: \"gain\" can only be read; take it out")]
    [InlineData(Gain, "{ \"gain\": 6553.6 }", ".gain: 6553.6 1/s is outside what \"gain\" holds: 0 to 6553.5 1/s")]
    [InlineData(Gain, "{ \"gain\": -0.1 }", ".gain: -0.1 1/s is outside what \"gain\" holds: 0 to 6553.5 1/s")]
    [InlineData(Gain, "{ \"gain\": 1.25 }", ".gain: 1.25 1/s lies between two steps of \"gain\", which counts in 0.1 1/s: the drive could never hold it")]
    [InlineData(Gain, "{ \"gain\": { \"value\": 1, \"unit\": \"rad/s\" } }", ".gain.unit: \"rad/s\": the drive definition counts \"gain\" in \"1/s\"; convert the value")]
    [InlineData(WriteOnlyGain, "{ \"gain\": { \"value\": 1, \"unit\": \"1/s\" } }", ".gain.unit: \"1/s\": the drive definition gives \"gain\" no unit; take it out")]
    [InlineData(WriteOnlyGain, "{ \"gain\": { \"value\": 1, \"onDifference\": \"warn\" } }", ".gain.onDifference: \"gain\" can't be read, so a difference would never be seen; only \"write\" is possible: it is then written at every start")]
    [InlineData(Gain, "{ \"gain\": { \"value\": 1, \"onDifference\": \"wirte\" } }", ".gain.onDifference: \"wirte\" is none of \"write\", \"refuse\", \"warn\"; did you mean \"write\"?")]
    [InlineData(Gain, "{ \"communicationTimeout\": 250 }", ".communicationTimeout: is set by the axis's communicationTimeoutMs; take it out here")]
    [InlineData(Gain, "{ \"gain\": \"1\" }", ".gain: a number, or an object with \"value\" is expected, found the text \"1\"")]
    public void Read_ParameterTheDriveCannotHave_IsRefused(string drive, string parameters, string expected)
    {
        using var folder = new TestFolder();

        var error = Assert.Single(Read(folder, drive, $"axes[0].parameters = {parameters}").Errors);
        Assert.Equal("axes[0].parameters" + expected, $"{error.Path}: {error.Message}");
    }

    [Theory]
    [InlineData("command[3].stored = true", "command[3].stored: a command field is written whenever it changes, and every write wears this register's memory; command a register that is not stored")]
    [InlineData("feedback[1].stored = true", "feedback[1].stored: only parameters are stored; a feedback field is never written")]
    [InlineData("parameters[0].stored = true\nparameters[0].access = \"write\"", "parameters[0].stored: contradicts access \"write\": what can't be read can't be compared, so it would be written at every start")]
    [InlineData("saveParameters = { \"register\": 64, \"value\": 1, \"busyMs\": 10 }", null)]
    [InlineData("saveParameters = { \"register\": 160, \"value\": 70000, \"busyMs\": 10 }", "saveParameters.value: 70000 must be 0 to 65535")]
    [InlineData("saveParameters = { \"register\": 160, \"value\": 1 }", "saveParameters.busyMs: is missing: how long the drive may be silent or busy while it saves")]
    [InlineData("saveParameters = { \"register\": 128, \"value\": 1, \"busyMs\": 10 }", "saveParameters.register: \"saveParameters\" (register 128) overlaps \"communicationTimeout\" (register 128) in line 1")]
    public void Read_DefinitionThatWouldWearItsDrive_IsRefused(string edits, string? expected)
    {
        using var folder = new TestFolder();
        var errors = DriveDefinitionFile.Read(folder.Write("a.drive.json", EditedJson.Apply(Samples.Example("reference.drive.json"), edits))).Errors;

        var error = Assert.Single(errors);
        if (expected is not null)
        {
            Assert.Equal(expected, $"{error.Path}: {error.Message}");
        }
        else
        {
            Assert.Contains("overlaps \"controlword\"", error.Message, StringComparison.Ordinal);
        }
    }

    private static FileResult<MachineDefinition> Read(TestFolder folder, string driveEdits, string machineEdits)
    {
        folder.Write("reference.drive.json", EditedJson.Apply(Samples.Example("reference.drive.json"), driveEdits));
        return MachineFile.Read(folder.Write("machine.json", EditedJson.Apply(Samples.Example("machine.json"), machineEdits)));
    }
}
