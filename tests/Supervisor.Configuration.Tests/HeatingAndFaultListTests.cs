using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Records.Faults;

namespace Supervisor.Configuration.Tests;

public sealed class HeatingAndFaultListTests
{
    [Fact]
    public void Read_Faults_EveryMemberArrives()
    {
        var drive = Samples.Drive(Samples.Example("everything.drive.json"));

        Assert.Equal(
            [
                new DriveFaultDefinition(12, FaultCode.OverTemperature, "Heat sink", FaultClear.Reset),
                new DriveFaultDefinition(40, FaultCode.Encoder, null, FaultClear.PowerCycle),
                new DriveFaultDefinition(41, FaultCode.DriveFault, null, FaultClear.Reset) { ClearWrite = new FaultClearWrite("clearNumber", 165) },
            ],
            drive.Faults);
    }

    [Theory]
    [InlineData("{ \"field\": \"clearNumbr\", \"value\": 165 }", "faults[2].clear.field: no command field \"clearNumbr\"; did you mean \"clearNumber\"?")]
    [InlineData("{ \"field\": \"torqueLimit\", \"value\": 165 }", "faults[2].clear.field: \"torqueLimit\" commands something else; name a field that only takes this number, which is 0 otherwise")]
    [InlineData("{ \"field\": \"out\", \"value\": 165 }", "faults[2].clear.field: \"out\" commands something else; name a field that only takes this number, which is 0 otherwise")]
    [InlineData("{ \"value\": 165 }", "faults[2].clear.field: is missing: the command field that takes the number")]
    [InlineData("{ \"field\": \"clearNumber\" }", "faults[2].clear.value: is missing: the number the drive wants")]
    [InlineData("{ \"field\": \"clearNumber\", \"value\": 70000 }", "faults[2].clear.value: 70000 must be 0 to 65535")]
    [InlineData("{ \"field\": \"clearNumber\", \"value\": 1.5 }", "faults[2].clear.value: must be a whole number")]
    [InlineData("{ \"field\": \"clearNumber\", \"value\": 0 }", "faults[2].clear.value: must not be 0, which stands there otherwise; say \"reset\" where the drive wants no number")]
    [InlineData("\"restart\"", "faults[2].clear: \"restart\" is none of \"reset\", \"powerCycle\"")]
    public void Read_WrongClear_IsTold(string clear, string expected)
    {
        using var folder = new TestFolder();
        var errors = DriveDefinitionFile.Read(folder.Write("a.drive.json", EditedJson.Apply(Samples.Example("everything.drive.json"), $"faults[2].clear = {clear}"))).Errors;

        Assert.Equal([expected], errors.Select(error => $"{error.Path}: {error.Message}"));
    }

    /// <summary>603Fh 2310h is over-current in the object tables of general-purpose CiA 402 stacks (secondary text).</summary>
    [Fact]
    public void FaultCodeOf_Cia402Drive_ListGoesBeforeTheStandard()
    {
        var drive = Samples.Drive(Samples.Example("everything.drive.json"));

        Assert.Equal(FaultCode.OverTemperature, drive.FaultCodeOf(12));
        Assert.Equal(FaultCode.OverCurrent, drive.FaultCodeOf(0x2310));
        Assert.Equal(FaultCode.DriveFault, drive.FaultCodeOf(13));
        Assert.Equal(FaultCode.DriveFault, drive.FaultCodeOf(0));
        Assert.Null(drive.Fault(13));
    }

    [Fact]
    public void FaultCodeOf_DriveWithBitsAndAList_KnowsOnlyItsList()
    {
        using var folder = new TestFolder();
        const string Edits = """
            feedback[3] = { "name": "errorCode", "register": 210, "type": "u16" }
            faults = [ { "code": 8976, "fault": "underVoltage" } ]
            """;
        var drive = DriveDefinitionFile.Read(folder.Write("a.drive.json", EditedJson.Apply(Samples.Example("bits.drive.json"), Edits))).Value!;

        Assert.Equal(FaultCode.UnderVoltage, drive.FaultCodeOf(0x2310));
        Assert.Equal(FaultCode.DriveFault, drive.FaultCodeOf(0x2320));
    }

    [Fact]
    public void FaultCodeOf_DriveWithBitsAndNoList_IsReadByTheStandard() =>
        Assert.Equal(FaultCode.OverCurrent, Samples.Drive(Samples.Example("bits.drive.json")).FaultCodeOf(0x2310));

    [Fact]
    public void Read_Heating_EveryMemberArrives()
    {
        var machine = Samples.Machine(Samples.Example("everything.json"));

        Assert.Equal(new HeatingDefinition(TimeSpan.FromSeconds(30), 100, 90), machine.Axes[0].Heating);
        Assert.Null(machine.Axes[1].Heating);
    }

    [Fact]
    public void Read_HeatingWithTheTimeConstantAlone_WarnsAt90OfRated() =>
        Assert.Equal(
            new HeatingDefinition(TimeSpan.FromSeconds(45.5), 100, 90),
            Read("""{ "timeConstantS": 45.5 }""", feedbackEdits: "").Value!.Axes[0].Heating);

    [Fact]
    public void Read_HeatingOfADriveThatTellsNoTorque_IsRefused() =>
        Assert.Equal(
            ["axes[0].heating: drive \"Reference drive\" declares no feedback field \"torque\": nothing tells how the motor is loaded"],
            Read("""{ "timeConstantS": 30 }""", "feedback[3] -").Errors.Select(error => $"{error.Path}: {error.Message}"));

    private static FileResult<MachineDefinition> Read(string heating, string feedbackEdits)
    {
        using var folder = new TestFolder();
        folder.Write("reference.drive.json", EditedJson.Apply(Samples.Example("reference.drive.json"), feedbackEdits));
        return MachineFile.Read(folder.Write("machine.json", EditedJson.Apply(Samples.Example("machine.json"), $"axes[0].heating = {heating}")));
    }
}
