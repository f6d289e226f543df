using System.Text.RegularExpressions;
using Supervisor.Configuration.Machines;

namespace Supervisor.Configuration.Tests;

/// <summary>What a file says of homing, load and torque beyond the plain: each wrong thing gives exactly its error.</summary>
public sealed partial class AxisTrustTests
{
    private const string HardStop = "axes[0].homing = { \"slow\": 5, \"hardStop\": { \"direction\": \"negative\", \"torque\": 25, \"forMs\": 100, \"backOff\": 2 } }";
    private const string HomingMethod = "parameters[3] = { \"name\": \"homingMethod\", \"register\": 140, \"type\": \"s16\" }";

    [Fact]
    public void Read_EveryMember_IsInTheDefinition()
    {
        var axis = Definition(
            HomingMethod + "\nbatteryAlarm = \"digitalInputs.7\"\ncommand[6].readBack = true",
            HardStop + "\naxes[0].homing.distanceLimit = 200\naxes[0].homing.clearOf = [ { \"axis\": \"gantry\", \"between\": [0, 5] }, { \"input\": \"gantry.input2\" } ]"
            + "\naxes[0].gravityTorque = 15\naxes[0].contact = { \"earlyBefore\": 10, \"early\": \"fault\", \"missing\": \"fail\" }");

        Assert.Equal(new HardStopDefinition(-1, 25, TimeSpan.FromMilliseconds(100), 2), axis.Homing!.HardStop);
        Assert.Equal(37, axis.Homing.Method);
        Assert.False(axis.Homing.OnlySetsZero);
        Assert.Equal(200, axis.Homing.DistanceLimit);
        Assert.Equal((2, 0.0, 5.0), (axis.Homing.ClearOf[0].Axis, axis.Homing.ClearOf[0].Lower, axis.Homing.ClearOf[0].Upper));
        Assert.Equal("gantry.input2", axis.Homing.ClearOf[1].Input!.Text);
        Assert.Equal(15, axis.GravityTorque);
        Assert.Equal(new ContactDefinition(10, ContactFailure.Fault, ContactFailure.Fail), axis.Contact);
        Assert.Equal(7, axis.Drive.BatteryAlarm!.Bit!.Value.Bit);
        Assert.True(axis.Drive.CommandField("torqueLimit")!.ReadBack);
    }

    [Fact]
    public void Read_NoneOfThem_KeepsTheMeaningOfOlderFiles()
    {
        var axis = Definition("", "");

        Assert.Null(axis.Homing!.HardStop);
        Assert.Null(axis.Homing.DistanceLimit);
        Assert.Empty(axis.Homing.ClearOf);
        Assert.Null(axis.GravityTorque);
        Assert.Equal(new ContactDefinition(null, ContactFailure.Fail, ContactFailure.Fail), axis.Contact);
        Assert.Null(axis.Drive.BatteryAlarm);
    }

    [Theory]
    [InlineData("[ { \"axis\": \"gantri\", \"between\": [0, 5] } ]", "axes[0].homing.clearOf[0].axis: no axis \"gantri\"; did you mean \"gantry\"?")]
    [InlineData("[ { \"axis\": \"dibber\", \"between\": [0, 5] } ]", "axes[0].homing.clearOf[0].axis: an axis can't be clear of itself; name another one")]
    [InlineData("[ { \"axis\": \"drum\", \"between\": [0, 5] } ]", "axes[0].homing.clearOf[0].axis: \"drum\" has \"reference\": \"none\": where it stands is never proven; use an input")]
    [InlineData("[ { \"axis\": \"gantry\", \"between\": [5, 0] } ]", "axes[0].homing.clearOf[0].between: lower position 5 is above upper position 0")]
    [InlineData("[ { \"axis\": \"gantry\" } ]", "axes[0].homing.clearOf[0].between: is missing: [lower, upper]: where the other axis must stand")]
    [InlineData("[ { \"input\": \"gantry.input9\" } ]", "axes[0].homing.clearOf[0].input: \"gantry.input9\": drive \"Reference drive\" has no input \"input9\"; did you mean \"input1\"?")]
    [InlineData("[ { \"input\": \"gantry.input1\", \"between\": [0, 5] } ]", "axes[0].homing.clearOf[0].between: an input has no positions; take it out")]
    [InlineData("[ {} ]", "axes[0].homing.clearOf[0]: names what must be clear: either an axis and between which positions it must stand, or an input")]
    [InlineData("[ { \"input\": \"gantry.input1\", \"axis\": \"gantry\", \"between\": [0, 5] } ]", "axes[0].homing.clearOf[0]: names what must be clear: either an axis and between which positions it must stand, or an input")]
    [InlineData("{}", "axes[0].homing.clearOf: an array is expected, found an object")]
    public void Read_WrongClearOf_IsTold(string clearOf, string expected) => Assert.Equal([expected], Errors("", $"axes[0].homing.clearOf = {clearOf}"));

    [Theory]
    [InlineData("axes[0].homing.hardStop.torque = 31", "axes[0].homing.hardStop.torque: 31 % is above torque.homing 30 %: it would never be met")]
    [InlineData("axes[0].homing.hardStop.direction = \"down\"", "axes[0].homing.hardStop.direction: \"down\" is none of \"positive\", \"negative\"")]
    [InlineData("axes[0].homing.hardStop.forMs -", "axes[0].homing.hardStop.forMs: is missing: how long the axis must stand and press")]
    [InlineData("axes[0].homing.hardStop.backOff = -1", "axes[0].homing.hardStop.backOff: -1 must be 0 to 1000000000000 mm")]
    [InlineData("axes[0].homing.slow -", "axes[0].homing.slow: is missing: velocity towards the stop, mm/s")]
    [InlineData("axes[0].homing.method = 17", "axes[0].homing.method: method 17 looks for the zero by itself; with hardStop the method only sets it: 35 or 37, or leave it out")]
    [InlineData("axes[0].homing.distanceLimit = 0", "axes[0].homing.distanceLimit: 0 must be above 0 mm")]
    public void Read_WrongHardStop_IsTold(string edit, string expected) => Assert.Equal([expected], Errors(HomingMethod, $"{HardStop}\n{edit}"));

    [Theory]
    [InlineData("", "axes[0].homing.hardStop: drive \"Reference drive\" has no writable parameter \"homingMethod\": the zero at the stop could not be set by its method 37")]
    [InlineData(HomingMethod + "\nfeedback[3] -", "axes[0].homing.hardStop: drive \"Reference drive\" must declare the feedback field \"torque\" and the command field \"torqueLimit\": the stop is found by them")]
    public void Read_HardStopWithADriveThatCannot_IsRefused(string driveEdits, string expected) => Assert.Equal([expected], Errors(driveEdits, HardStop));

    [Theory]
    [InlineData("axes[0].gravityTorque = 24.5", "axes[0].torque.homing: 30 % is too little to hold the load: gravityTorque 24.5 % and a margin of 25 % make 30.625 %|axes[0].torque.contact: 25 % is too little to hold the load: gravityTorque 24.5 % and a margin of 25 % make 30.625 %")]
    [InlineData("axes[0].gravityTorque = 20", "")]
    [InlineData("axes[0].gravityTorque = 0", "axes[0].gravityTorque: 0 must be above 0 and at most 500 % of rated")]
    [InlineData("axes[2].gravityTorque = 20", "axes[2].gravityTorque: is given for an axis that is not gravityLoaded; say \"gravityLoaded\": true, so that its stop goes out first")]
    [InlineData("axes[2].gravityLoaded = true\naxes[2].gravityTorque = 90", "axes[2].torque.homing: 100 % is too little|axes[2].torque.moving: 100 % is too little|axes[2].torque.holding: 100 % is too little|axes[2].torque.contact: 100 % is too little|axes[2].torque.stopping: 100 % is too little")]
    [InlineData("axes[0].contact = { \"early\": \"fault\" }", "axes[0].contact.early: says what a contact too early is, but not before which position it is one; give earlyBefore")]
    [InlineData("axes[0].contact = { \"missing\": \"stop\" }", "axes[0].contact.missing: \"stop\" is none of \"fail\", \"fault\"")]
    public void Read_WrongLoadOrContact_IsTold(string edits, string expected)
    {
        var errors = Errors("", edits);
        var wanted = expected.Split('|', StringSplitOptions.RemoveEmptyEntries);
        Assert.Equal(wanted.Length, errors.Length);
        Assert.All(wanted, line => Assert.Contains(errors, error => error.StartsWith(line, StringComparison.Ordinal)));
    }

    [Theory]
    [InlineData("batteryAlarm = \"digitalInputs.16\"", "batteryAlarm: bit 16 is outside field \"digitalInputs\", whose bits are 0 to 15")]
    [InlineData("batteryAlarm = 0", "batteryAlarm: 0 must be 1 to 65535")]
    [InlineData("batteryAlarm = true", "batteryAlarm: a bit of the feedback such as \"status.5\", or a number of the error code is expected, found true")]
    [InlineData("batteryAlarm = 29456\nfeedback[4] -", "batteryAlarm: a number is compared with the feedback field \"errorCode\", which this drive does not declare; name a bit")]
    [InlineData("command[3].readBack = true", "command[3].readBack: only the command field \"torqueLimit\" and fields of outputs are read back; take it out")]
    [InlineData("command[6].readBack = true\ncommand[6].access = \"write\"", "command[6].readBack: contradicts access \"write\"; take one of the two out")]
    [InlineData("command[6].readBack = true\nwire.read.function = 4", "command[6].readBack: registers that are written are read by function 3, but wire.read.function is 4")]
    public void Read_WrongDrive_IsTold(string driveEdits, string expected) => Assert.Equal([expected], Errors(driveEdits, ""));

    private static AxisDefinition Definition(string driveEdits, string machineEdits)
    {
        var result = Read(driveEdits, machineEdits);
        Assert.Empty(result.Errors);
        return result.Value!.Axes[0];
    }

    private static string[] Errors(string driveEdits, string machineEdits) =>
        [.. Read(driveEdits, machineEdits).Errors.Select(error => Place().Replace(error.ToString(), ""))];

    private static FileResult<MachineDefinition> Read(string driveEdits, string machineEdits)
    {
        using var folder = new TestFolder();
        folder.Write("reference.drive.json", EditedJson.Apply(Samples.Example("reference.drive.json"), driveEdits));
        return MachineFile.Read(folder.Write("machine.json", EditedJson.Apply(Samples.Example("machine.json"), machineEdits)));
    }

    [GeneratedRegex(@"^[^:]*:\d+:\d+: ")]
    private static partial Regex Place();
}
