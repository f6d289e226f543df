namespace Supervisor.Records;
